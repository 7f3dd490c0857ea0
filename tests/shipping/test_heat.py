"""The heat of a call: weather and dress go in by form, paste and table; the page says who may wear what, and when."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client

from catalog.access.duties import Duty
from catalog.core.errors import BadTable, NotAllowed, Refused, WrongState
from catalog.core.history import lines_of
from catalog.exchange.actions import import_table
from catalog.loans.models import Call
from catalog.pieces.models import Role
from catalog.shipping.heat_actions import NewHour, Worn, set_dresses, set_hours
from catalog.shipping.heat_models import HeatDress, WeatherHour
from catalog.shipping.heat_queries import answer, call_heat, questions
from tests.demo_world import DemoWorld
from tests.reading import text_of

As = Callable[[Any], Client]
PAGE = "/calls/RS-2026-01/heat/"
TABLE = "/tables/weather/RS-2026-01/"


def table(world: DemoWorld, text: str, kind: str = "weather", **options: Any) -> Any:
    given: dict[str, Any] = {"by": world.cast.production, "call": world.call.reference}
    return import_table(kind=kind, data=text.encode(), file_name="w.csv", **(given | options))


def hour(world: DemoWorld, day: date, at: int) -> WeatherHour:
    return WeatherHour.objects.get(call=world.call, day=day, hour=at)


def test_the_quay_says_when_nobody_may_wear_the_divers_dress(demo_world: DemoWorld, as_user: As) -> None:
    found = call_heat(demo_world.call)
    assert answer(found) == (
        "Nobody may wear the full dress of Harbour Diver or Lamp Keeper from 06:00 to 21:00 on 22 Sep to 25 Sep."
    )
    page = text_of(as_user(demo_world.cast.production).get(PAGE))
    assert "Nobody may wear the full dress of Harbour Diver or Lamp Keeper from 06:00 to 21:00" in page
    # Officers in two woven layers, new to the heat: by hand at 06:00, 24.4 + 3 = 27.4 under 29, 30.3 + 3 above it.
    (day,) = found.days
    officer = [place for place, column in enumerate(found.columns) if column.role.role.code == "CUS"]
    assert [day.closed(place) for place in officer] == [[(10, 21)], [(12, 19)]]
    assert day.hours[0].cells[officer[0]].verdict == "measure first"
    assert day.unknown == [7, 9, 11, 13, 15, 17, 19]
    for words in (
        "supports, and never replaces, the medic",
        "ISO 7243:2017, annex F",
        "36.4 kg",
        "Stull (2011)",
        "22 Sep: 20 %, 23 Sep: 40 %, 24 Sep: 60 %",
        "table of work and rest is not used here",
        "about 240 ml".capitalize(),
    ):
        assert words in page, words


def test_a_cool_night_opens_hours_for_who_is_weighed(demo_world: DemoWorld) -> None:
    cast, call = demo_world.cast, demo_world.call
    WeatherHour.objects.filter(call=call).delete()
    night = [NewHour(call.first_day, at, 80, 60, "night") for at in (0, 1, 2)]
    set_hours(by=cast.production, call=call, hours=night, source="entered")
    (day,) = call_heat(call).days
    by_role = {(c.role.role.code, c.used): place for place, c in enumerate(call_heat(call).columns)}
    assert day.open(by_role["CUS", False]) == [(0, 3)]
    assert day.closed(by_role["DIV", False]) == []
    HeatDress.objects.filter(call=call, role__code="CUS").update(weight_g=None)
    (day,) = call_heat(call).days
    assert day.open(by_role["CUS", False]) == []
    asked = questions(call_heat(call))
    unwritten = "The weather outside the written hours, 03:00 to 24:00, on 22 Sep: nobody may plan on it."
    assert (unwritten, "the weather service") in asked
    assert ("Customs Officer: what the full dress weighs.", "the wardrobe lead") in asked
    assert asked[0][0] == "The weather of 23 Sep, 24 Sep, 25 Sep."


def test_no_weather_and_no_dress_are_told_and_no_yes(demo_world: DemoWorld, as_user: As) -> None:
    HeatDress.objects.filter(call=demo_world.call).delete()
    client = as_user(demo_world.cast.archivist)
    page = text_of(client.get(PAGE))
    assert "Nobody can say yet: what the roles wear has not been said." in page
    assert "Say what is worn" in page
    assert 'class="heat-may-word"' not in page
    WeatherHour.objects.filter(call=demo_world.call).delete()
    assert "Nobody can say yet: no weather is written." in text_of(client.get(PAGE))


def test_a_creature_suit_says_who_decides(demo_world: DemoWorld, as_user: As) -> None:
    cast, call = demo_world.cast, demo_world.call
    set_dresses(
        by=cast.wardrobe_lead,
        call=call,
        dress_list="iso",
        worn=[Worn(role=Role.objects.get(code="SEA"), dress="creature", weight_g=9000, work="low")],
    )
    page = text_of(as_user(cast.production).get(PAGE))
    assert "a competent person decides" in page
    assert "occupational hygienist" in page


def test_a_table_keeps_every_hour_and_a_later_word_wins(demo_world: DemoWorld) -> None:
    first = demo_world.call.first_day
    outcome = table(
        demo_world, f"day,hour,temp,rh,sky,wind\n{first},06:00,20.5,90,night,1.5\n{first},7,79 F,,,\n", dry_run=False
    )
    assert outcome.counts == {"hour of weather": 2}
    six, seven = hour(demo_world, first, 6), hour(demo_world, first, 7)
    assert (six.temp_tenths_c, six.rh_percent, six.sky, six.wind_tenths_ms) == (205, 90, "night", 15)
    assert (seven.temp_tenths_c, seven.rh_percent, seven.sky) == (261, None, "")
    assert hour(demo_world, date(2026, 9, 23), 6).temp_tenths_c == 260
    line = lines_of(demo_world.call.subject).first()
    assert line is not None
    assert (line.verb, line.after["hours"], line.after["source"]) == ("wrote the weather", 2, "table")


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        ("hour,temp\n6,20\n06:30,20\n", "Row 3, hour: “06:30” is no whole hour of the day"),
        ("hour,temp\n24,20\n", "Row 2, hour: “24” is no whole hour"),
        ("hour,temp\n6,hot\n", "Row 2, temp: “hot” is no temperature"),
        ("hour,temp\n6,93\n", "Row 2, temp: 93 cannot be right"),
        ("hour,rh\n6,120\n", "Row 2, rh: 120 cannot be right"),
        ("hour,sky\n6,gale\n", "Row 2, sky: “gale” is not known"),
        ("hour,wind\n6,99\n", "Row 2, wind: 99 cannot be right"),
        ("day,hour\n2026-12-24,6\n", "Row 2, day: 24 Dec 2026 is not a day of RS-2026-01"),
        ("hour,temp\n6,20\n6,21\n", "Row 3, hour: 22 Sep 2026, 06:00 stands in an earlier row"),
        ("temp\n20\n", "The column “hour” is missing"),
    ],
)
def test_each_bad_row_is_named_and_nothing_is_stored(demo_world: DemoWorld, rows: str, told: str) -> None:
    before = list(WeatherHour.objects.values())
    with pytest.raises(BadTable) as wrong:
        table(demo_world, rows)
    assert any(told in fault for fault in wrong.value.faults), wrong.value.faults
    assert list(WeatherHour.objects.values()) == before


def test_pasted_rows_are_looked_at_first_and_stay_when_wrong(demo_world: DemoWorld, as_user: As) -> None:
    client = as_user(demo_world.cast.production)
    wrong = client.post(TABLE, {"pasted": "hour,temp\n25,20\n"})
    assert wrong.status_code == 422
    assert "Row 2, hour: “25”" in text_of(wrong)
    assert "25,20" in wrong.content.decode()
    look = client.post(TABLE, {"pasted": "hour,temp,rh\n5,19,70\n"})
    sealed = look.context["sealed"]
    assert client.post(TABLE, {"sealed": sealed})["Location"] == PAGE
    row = hour(demo_world, demo_world.call.first_day, 5)
    assert (row.temp_tenths_c, row.source) == (190, "pasted")
    assert client.get("/tables/weather/NO-SUCH/").status_code == 404


def test_one_hour_by_the_form(demo_world: DemoWorld, as_user: As) -> None:
    client = as_user(demo_world.cast.wardrobe_lead)
    address = PAGE + "weather/"
    wrong = client.post(address, {"day": "every", "hour": "6", "temp": "99", "said_by": "forecast of Monday"})
    assert wrong.status_code == 422
    assert "Air temperature" in text_of(wrong)
    assert "forecast of Monday" in wrong.content.decode()
    sent = {"day": "2026-09-23", "hour": "7", "temp": "26.5", "rh": "85", "sky": "tin roof", "wind": "0.5"}
    assert client.post(address, sent)["Location"] == address
    row = hour(demo_world, date(2026, 9, 23), 7)
    assert (row.temp_tenths_c, row.wind_tenths_ms, row.source) == (265, 5, "entered")
    assert len(call_heat(demo_world.call).days) == 3
    assert client.post(f"{address}{row.pk}/out/")["Location"] == address
    assert not WeatherHour.objects.filter(pk=row.pk).exists()
    assert client.post(f"{address}{row.pk}/out/").status_code == 404


def test_what_is_worn_by_the_form_and_the_lists_do_not_mix(demo_world: DemoWorld, as_user: As) -> None:
    client, call = as_user(demo_world.cast.wardrobe_lead), demo_world.call
    address = PAGE + "dress/"
    form = client.get(address).context["form"]
    sent = {bound.html_name: bound.value() for bound in form if bound.value() not in (None, False)}
    sent = {name: str(value) for name, value in sent.items()} | {"dress_list": "acgih"}
    wrong = client.post(address, sent)
    assert wrong.status_code == 422
    assert "not in the chosen clothing list" in text_of(wrong)
    assert set(HeatDress.objects.values_list("dress_list", flat=True)) == {"iso"}
    for role in form.roles:
        sent[f"dress_{role.pk}"] = "vb_limited_use_coverall_with_hood"
    assert client.post(address, sent)["Location"] == PAGE
    assert set(HeatDress.objects.values_list("dress_list", flat=True)) == {"acgih"}
    page = text_of(client.get(PAGE))
    assert "By ACGIH, NIOSH and OSHA list and the limits of NIOSH 2016-106" in page
    only = [Worn(role=Role.objects.get(code="DIV"), dress="coveralls")]
    with pytest.raises(Refused, match="the two lists are not mixed"):
        set_dresses(by=demo_world.cast.production, call=call, dress_list="iso", worn=only)
    other = [Worn(role=Role.objects.get(code="HOU"), dress="coveralls")]
    with pytest.raises(Refused, match="is no role of"):
        set_dresses(by=demo_world.cast.production, call=call, dress_list="acgih", worn=other)


def test_the_database_refuses_a_row_of_the_other_list(demo_world: DemoWorld) -> None:
    for changes in ({"dress": "vb_coverall_no_hood", "dress_list": "acgih"}, {"weight_g": 100_001}, {"used": "often"}):
        with pytest.raises(IntegrityError), transaction.atomic():
            HeatDress.objects.filter(role__code="DIV").update(**changes)
    for hours in ({"hour": 24}, {"rh_percent": 101}, {"temp_tenths_c": 601}, {"sky": "fog"}):
        with pytest.raises(IntegrityError), transaction.atomic():
            WeatherHour.objects.filter(hour=6, day=demo_world.call.first_day).update(**hours)


def test_who_may(demo_world: DemoWorld, as_user: As) -> None:
    may = {Duty.ARCHIVIST, Duty.WARDROBE_LEAD, Duty.PRODUCTION}
    for address in (PAGE, PAGE + "weather/", PAGE + "dress/", TABLE):
        for duty in Duty:
            answered = as_user(demo_world.cast.of(duty)).get(address)
            assert answered.status_code == (200 if duty in may else 403), (address, duty)
        assert "/sign-in/" in as_user(None).get(address)["Location"]
    with pytest.raises(NotAllowed):
        set_hours(by=demo_world.cast.set_costumer, call=demo_world.call, hours=[], source="entered")
    assert as_user(demo_world.cast.archivist).get("/calls/NO-SUCH/heat/").status_code == 404
    assert PAGE in as_user(demo_world.cast.production).get("/calls/RS-2026-01/").content.decode()


def test_a_closed_call_is_read_and_not_written(demo_world: DemoWorld, as_user: As) -> None:
    Call.objects.filter(pk=demo_world.call.pk).update(state="closed")
    demo_world.call.refresh_from_db()
    with pytest.raises(WrongState):
        set_hours(by=demo_world.cast.production, call=demo_world.call, hours=[], source="entered")
    client = as_user(demo_world.cast.production)
    assert "Weather by the hour" not in text_of(client.get(PAGE))
    assert client.post(PAGE + "dress/", {"dress_list": "iso"}).status_code == 422


def test_nobodys_body_and_name_is_told(demo_world: DemoWorld, as_user: As) -> None:
    page = text_of(as_user(demo_world.cast.wardrobe_lead).get(PAGE))
    for wearer in demo_world.call.wearers.all():
        assert wearer.name not in page


def test_the_number_of_queries_does_not_grow(
    demo_world: DemoWorld, as_user: As, django_assert_max_num_queries: Any
) -> None:
    client = as_user(demo_world.cast.production)
    client.get(PAGE)
    with django_assert_max_num_queries(24):
        client.get(PAGE)
    rows = "hour,temp,rh\n" + "".join(f"{at},{20 + at % 10},60\n" for at in range(24))
    table(demo_world, rows)
    with django_assert_max_num_queries(24):
        client.get(PAGE)
