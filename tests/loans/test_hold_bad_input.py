"""What is typed wrongly about a hold is refused or questioned in one sentence, and what was typed stays."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from catalog.core import clock
from catalog.loans.models import Hold, HoldDay
from tests.cast import Cast
from tests.loans.world import Stage, make_stage
from tests.reading import text_of

AsUser = Callable[[Any], Client]
GOOD = {
    "pieces": "MOOR-0001", "for_whom": "Fen unit", "reference": "H-1", "use_from": "2031-06-10", "use_to": "2031-06-12",
    "days_before": "0", "days_after": "14", "strength": "firm", "confirmed_by": "A. Producer",
}  # fmt: skip


@pytest.fixture
def stage(db: None) -> Stage:
    return make_stage()


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"pieces": ""}, "Choose at least one piece to hold."),
        ({"pieces": "MOOR-9999"}, "No piece and no set is called MOOR-9999."),
        ({"use_to": "2031-06-09"}, "The last day comes on or after the first day."),
        (
            {"use_from": "2031-12-30", "use_to": "2031-01-02"},
            "The last day comes on or after the first day. Over the year&#x27;s end? Then write 2 Jan 2032.",
        ),
        ({"use_from": "2030-06-10", "use_to": "2030-06-12"}, "These days have passed. Look at the year."),
        ({"use_from": "2031-04-01"}, "1 Apr 2031 has passed. Look at the day, or say below that the use has begun."),
        ({"use_to": ""}, "Last day needed"),
        ({"use_to": "9999-12-31"}, "A hold lies between 1990 and 2200 and lasts at most 1830 days."),
        ({"use_to": "2131-06-12"}, "A hold lies between 1990 and 2200 and lasts at most 1830 days."),
        ({"use_from": "2031-02-29"}, "First day needed"),
        ({"days_after": "-1"}, "Days after, for quarantine"),
        ({"confirmed_by": ""}, "A firm hold needs the name of who authorised it."),
    ],
)
def test_refused_in_a_sentence(
    cast: Cast, stage: Stage, as_user: AsUser, change: dict[str, str], sentence: str
) -> None:
    with time_machine.travel("2031-05-01 09:00Z", tick=False):
        answer = as_user(cast.production).post(reverse("loans:make_hold"), GOOD | change)
    assert answer.status_code == 422
    page = text_of(answer)
    assert sentence in page
    assert "Fen unit" in page, "what was typed stays"
    assert not Hold.objects.exists()


def test_a_use_that_has_begun_is_held_when_somebody_says_so(cast: Cast, stage: Stage, as_user: AsUser) -> None:
    with time_machine.travel("2031-06-11 09:00Z", tick=False):
        client = as_user(cast.production)
        assert client.post(reverse("loans:make_hold"), GOOD).status_code == 422
        assert client.post(reverse("loans:make_hold"), GOOD | {"begun": "on"}).status_code == 302
    assert HoldDay.objects.count() == 17


@pytest.mark.parametrize(
    ("first", "last", "days"),
    [
        pytest.param("2031-12-30", "2032-01-02", 4, id="over a year's end"),
        pytest.param("2032-03-27", "2032-03-29", 3, id="clocks go forward in Europe"),
        pytest.param("2031-10-25", "2031-10-27", 3, id="clocks go back in Europe"),
        pytest.param("2031-09-27", "2031-09-29", 3, id="clocks go forward in New Zealand"),
    ],
)
@pytest.mark.parametrize("zone", ["UTC", "Europe/Berlin", "Pacific/Auckland", "America/St_Johns"])
def test_a_day_is_a_date_wherever_the_archive_is(
    cast: Cast, stage: Stage, as_user: AsUser, settings: Any, zone: str, first: str, last: str, days: int
) -> None:
    settings.TIME_ZONE = zone
    with time_machine.travel("2031-05-01 09:00Z", tick=False):
        asked = GOOD | {"use_from": first, "use_to": last, "days_after": "0"}
        assert as_user(cast.production).post(reverse("loans:make_hold"), asked).status_code == 302
    held = list(HoldDay.objects.order_by("day").values_list("day", flat=True))
    assert (len(held), held[0].isoformat(), held[-1].isoformat()) == (days, first, last)


@pytest.mark.parametrize(
    ("zone", "today"), [("UTC", date(2031, 6, 12)), ("Pacific/Auckland", date(2031, 6, 13))], ids=["before", "after"]
)
def test_both_sides_of_midnight(
    cast: Cast, stage: Stage, as_user: AsUser, settings: Any, zone: str, today: date
) -> None:
    """12:30 UTC is past midnight in Auckland: there the last day asked is yesterday, and a pencil's day has come."""
    settings.TIME_ZONE = zone
    with time_machine.travel("2031-06-12 12:30Z", tick=False):
        assert clock.today() == today
        client = as_user(cast.production)
        one_day = GOOD | {"use_from": "2031-06-12"}
        answer = client.post(reverse("loans:make_hold"), one_day)
        assert answer.status_code == (302 if zone == "UTC" else 422)
        if zone != "UTC":
            assert "These days have passed. Look at the year." in text_of(answer)
        pencil = {"strength": "pencil", "reference": "H-2", "use_from": "2031-06-20", "use_to": "2031-06-20"}
        answer = client.post(reverse("loans:make_hold"), GOOD | pencil | {"lapses_on": "2031-06-13"})
        assert answer.status_code == (302 if zone == "UTC" else 422)
