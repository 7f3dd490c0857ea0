"""What the tags and parts promise: words beside shapes, unknown as a word, errors that lead to their fields."""

import datetime as dt
import re
from types import SimpleNamespace
from typing import Any

import pytest
from django import forms
from django.template import Context, Template
from hypothesis import given
from hypothesis import strategies as st

from catalog.pieces.calc.kinds import KINDS, POINTS
from catalog.templatetags.drawn import ICONS, MARKS, STATE_SHAPES
from catalog.templatetags.wrapkeep_days import LEFT, WIDTH, day_bars
from tests.look.sample import render


def shown(source: str, **context: Any) -> str:
    load = "{% load wrapkeep wrapkeep_days wrapkeep_measure %}"
    return Template(load + source).render(Context(context)).strip()


# --- words and units -------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("source", "expected"),
    [
        ("{% length 965 %}", "96.5 cm"),
        ("{{ 965|cm }}", "96.5 cm"),
        ("{{ 965|inches }}", "38.0 in"),
        ("{% both_lengths 965 %}", "96.5 cm (38.0 in)"),
        ("{{ 2350|kg }}", "2.4 kg"),
        ("{% weight 0 %}", "0.00 kg"),
        ("{{ 285|celsius }}", "28.5\u00a0°C"),
        ("{{ 1|count:'piece,pieces' }}", "1 piece"),
        ("{{ 0|count:'piece,pieces' }}", "0 pieces"),
    ],
)
def test_units_and_counts(source: str, expected: str) -> None:
    assert shown(source) == expected


@pytest.mark.parametrize(
    "context",
    [
        {"units": "in"},
        {"request": SimpleNamespace(user=SimpleNamespace(units="inches"))},
    ],
)
def test_the_reader_gets_the_units_they_like(context: dict[str, Any]) -> None:
    assert shown("{% length 965 %} {% weight 453592 %}", **context) == "38.0 in 1000.0 lb"


def test_dates_are_read_the_same_in_every_country() -> None:
    first, last = dt.date(2026, 9, 8), dt.date(2026, 9, 12)
    say = "{{ first|day }}|{{ first|weekday }}|{{ first|days_between:last }}|{{ first|days_between:first }}"
    assert shown(say, first=first, last=last).replace("\u00a0", " ") == (
        "8 Sep 2026|Tue 8 Sep 2026|8 Sep to 12 Sep 2026|8 Sep 2026"
    )
    across = shown("{{ first|days_between:last }}", first=dt.date(2026, 12, 30), last=dt.date(2027, 1, 2))
    assert across.replace("\u00a0", " ") == "30 Dec 2026 to 2 Jan 2027"


def test_a_moment_is_told_in_the_time_of_the_archive(settings: Any) -> None:
    settings.TIME_ZONE = "Europe/London"
    moment = dt.datetime(2026, 7, 1, 23, 30, tzinfo=dt.UTC)
    assert shown("{{ at|moment }}", at=moment).replace("\u00a0", " ") == "2 Jul 2026, 00:30"


@pytest.mark.parametrize(
    ("source", "word"),
    [
        ("{% length None %}", "not measured"),
        ("{% length None 'not measured: sticky' %}", "not measured: sticky"),
        ("{% weight None %}", "not weighed"),
        ("{{ None|day:'never seen' }}", "never seen"),
        ("{{ ''|known }}", "not known"),
    ],
)
def test_what_is_unknown_is_a_word(source: str, word: str) -> None:
    assert shown(source) == f'<span class="unknown">{word}</span>'


def test_nought_is_known() -> None:
    assert shown("{{ 0|known }}") == "0"


# --- shapes ----------------------------------------------------------------------------------------------------------
def test_each_verdict_has_a_word_and_a_shape_of_its_own() -> None:
    assert len({shape.svg for shape in MARKS.values()}) == len(MARKS)
    assert len({shape.word for shape in MARKS.values()}) == len(MARKS)
    for verdict, shape in MARKS.items():
        assert shape.word in shown(f"{{% mark '{verdict}' %}}")
        assert shape.word in shown(f"{{% shape '{verdict}' %}}")


def test_each_state_has_a_shape_of_its_own() -> None:
    assert len(set(STATE_SHAPES.values())) == len(STATE_SHAPES)
    assert "not found" in shown("{% state 'bad' 'not found' %}")


@pytest.mark.parametrize("source", ["{% mark 'perhaps' %}", "{% icon 'perhaps' %}", "{% state 'perhaps' 'x' %}"])
def test_a_shape_that_nobody_drew_is_refused(source: str) -> None:
    with pytest.raises(KeyError):
        shown(source)


@pytest.mark.parametrize("name", ICONS)
def test_icons_say_nothing_to_a_screen_reader(name: str) -> None:
    assert 'aria-hidden="true"' in shown(f"{{% icon '{name}' %}}")


def test_a_tag_says_its_kind_in_words_and_escapes_its_number() -> None:
    html = shown("{% tag 'trunk' number 'travelling trunk' '/t/' %}", number="<b>7</b>")
    assert '<a class="tag tag-trunk" href="/t/">' in html
    assert '<span class="hidden-text">trunk </span>&lt;b&gt;7&lt;/b&gt;' in html
    assert "travelling trunk" in html


def test_words_from_outside_are_escaped() -> None:
    bad = "<script>"
    for source in ("{% mark 'no' bad %}", "{% state 'bad' bad %}", "{{ ''|known:bad }}", "{% length None bad %}"):
        assert bad not in shown(source, bad=bad)


# --- the page --------------------------------------------------------------------------------------------------------
def test_a_form_with_mistakes_says_so_in_title_summary_and_field() -> None:
    html = render()
    assert "<title>Error: Every part" in html
    # The alert stands on an inner element; on the outer one some screen readers read it twice or not at all
    # (design-system.service.gov.uk, error summary, history).
    outer = re.search(r'<div class="error-summary"[^>]*>\s*<div role="alert">', html)
    assert outer
    assert "role" not in outer.group(0).split(">")[0]
    for field in ("id_number", "id_chest", "id_wear_0"):
        assert f'href="#{field}"' in html
        assert f'id="{field}"' in html
    assert 'aria-describedby="id_number_helptext id_number_error"' in html
    assert 'id="id_number_error"' in html
    assert 'value="wide"' in html, "what was typed stays"


def test_every_link_of_the_summary_leads_to_a_field() -> None:
    html = render()
    summary = html[html.index("data-error-summary") : html.index('class="path"')]
    targets = re.findall(r'href="#([^"]+)"', summary)
    assert targets
    assert all(f'id="{target}"' in html for target in targets)


def test_a_number_is_asked_with_a_phones_number_keys() -> None:
    class Sizes(forms.Form):
        chest = forms.DecimalField(decimal_places=1, max_digits=5, min_value=1)
        many = forms.IntegerField(min_value=1)

    html = str(Sizes({"chest": "1e", "many": "3"}))
    assert re.search(r'<input type="text" name="chest" value="1e" inputmode="decimal"', html)
    assert re.search(r'<input type="text" name="many" value="3" inputmode="numeric"', html)
    assert "step=" not in html


def test_a_good_page_has_no_error_in_its_title() -> None:
    html = render(form=None)
    assert "<title>Every part" in html
    assert "error-summary" not in html


def test_the_page_keeps_to_the_content_policy() -> None:
    html = render()
    assert not re.search(r"<[^>]+\sstyle=", html)
    assert not re.search(r"<[^>]+\son[a-z]+=", html)
    assert not re.search(r"<script(?![^>]*\ssrc=)", html)
    assert "<style" not in html


def test_the_page_has_one_answer_and_one_filled_button() -> None:
    html = render()
    assert len(re.findall(r"<h1\b", html)) == 1
    assert len(re.findall(r'class="act"', html)) == 1


def test_paging_keeps_the_other_filters_in_the_address() -> None:
    html = render()
    assert "26 to 50 of 130 pieces" in html
    assert 'href="?q=coat&amp;page=3"' in html


@pytest.mark.parametrize("name", ["403.html", "404.html", "500.html", "403_csrf.html"])
def test_error_pages_need_no_context(name: str) -> None:
    html = Template(f'{{% include "{name}" %}}').render(Context({}))
    assert '<h1 class="answer">' in html
    assert "nav-row" not in html


# --- days ------------------------------------------------------------------------------------------------------------
@given(st.integers(1, 400), st.integers(-50, 450), st.integers(0, 100))
def test_bands_stay_inside_the_line(days: int, start: int, long: int) -> None:
    first = dt.date(2026, 1, 1)
    last = first + dt.timedelta(days=days - 1)
    begin = first + dt.timedelta(days=start)
    band = {"first": begin, "last": begin + dt.timedelta(days=long), "kind": "firm", "word": "a"}
    drawn = day_bars(first, last, None, [{"name": "n", "bands": [band]}])["rows"][0]["bands"]
    touches = begin <= last and begin + dt.timedelta(days=long) >= first
    assert bool(drawn) == touches
    for one in drawn:
        assert one["x"] >= LEFT - 1e-9
        assert one["x"] + one["width"] <= WIDTH + 1e-9
        assert one["width"] > 0


def test_the_days_are_told_in_words_too() -> None:
    band = {"first": dt.date(2026, 9, 9), "last": dt.date(2026, 9, 14), "kind": "pencil", "word": "stills"}
    html = shown(
        "{% day_bars first last today rows %}",
        first=dt.date(2026, 9, 1),
        last=dt.date(2026, 9, 30),
        today=dt.date(2026, 9, 8),
        rows=[{"name": "AB-1", "bands": [band]}, {"name": "AB-2", "bands": []}],
    ).replace("\u00a0", " ")
    assert "9 Sep to 14 Sep 2026: pencil hold, stills" in html
    assert "free from 1 Sep to 30 Sep 2026" in html
    assert "The upright line is today." in html


def test_days_that_end_before_they_start_are_refused() -> None:
    with pytest.raises(ValueError, match="end before"):
        day_bars(dt.date(2026, 9, 2), dt.date(2026, 9, 1), None, [])


# --- where to measure ------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.key)
def test_the_drawing_shows_every_point_of_the_kind_by_the_letter_of_the_list(kind: Any) -> None:
    points = [POINTS[key] for key in kind.points]
    html = shown("{% measure_guide drawing points %}", drawing=kind.drawing, points=points)
    drawn = dict(re.findall(r'data-key="([a-z_]+)">.*?<text[^>]*>([A-Z])</text>', html))
    listed = dict(zip(kind.points, re.findall(r'class="letter">([A-Z])<', html), strict=True))
    assert drawn == listed
    assert all(point.word in html and point.how in html for point in points)


def test_letters_lie_inside_the_drawing() -> None:
    for kind in KINDS.values():
        html = shown("{% measure_guide d p %}", d=kind.drawing, p=[POINTS[key] for key in kind.points])
        for x, y in re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="10"', html):
            assert 10 <= float(x) <= 310
            assert 10 <= float(y) <= 310
