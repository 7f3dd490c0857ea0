"""Words, units and small parts for the pages: `{% load wrapkeep %}`.

Lengths come in whole millimetres, weights in whole grams; the reader's unit is the context variable `units`
("cm" or "in"; "metric" or "inches"), else the signed-in user's own, else centimetres.
"""

import datetime as dt
from decimal import Decimal
from typing import Any

from django import template
from django.forms import BoundField, MultiWidget
from django.template import Context
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from catalog.core import plain_forms
from catalog.core.units import show_length, show_weight
from catalog.pieces.calc.values import money as money_text
from catalog.templatetags.drawn import ICONS, MARKS, STATE_SHAPES

register = template.Library()

NOT_KNOWN = "not known"
NOT_MEASURED = "not measured"


def reader_units(context: Context) -> str:
    """ "cm" or "in" as the reader likes it; also inside an include that passes no context on."""
    chosen = context.get("units")
    request = context.get("request") or getattr(context, "request", None)
    if not chosen and request is not None:
        chosen = getattr(getattr(request, "user", None), "units", None)
    return "in" if chosen in ("in", "inches") else "cm"


@register.filter
def known(value: Any, word: str = NOT_KNOWN) -> Any:
    """The value, or the word that says it is not known; 0 and False are known."""
    if value is None or value == "":
        return format_html('<span class="unknown">{}</span>', word)
    return value


@register.filter
def named(text: str, label: str) -> str:
    """A fault with its field's name before it, unless the sentence names the field itself."""
    return plain_forms.named(str(text), label)


@register.simple_tag(takes_context=True)
def length(context: Context, mm: int | None, word: str = NOT_MEASURED) -> str:
    """A length in the reader's unit: `{% length measure.value_mm %}` gives "96.5 cm" or "38.0 in"."""
    if mm is None:
        return known(None, word)
    return cm(mm) if reader_units(context) == "cm" else inches(mm)


@register.simple_tag(takes_context=True)
def weight(context: Context, g: int | None, word: str = "not weighed") -> str:
    """A weight in the reader's unit: `{% weight piece.weight_g %}` gives "1.2 kg" or "2.6 lb"."""
    if g is None:
        return known(None, word)
    return show_weight(g, "kg" if reader_units(context) == "cm" else "lb")


@register.simple_tag(takes_context=True)
def both_lengths(context: Context, mm: int | None, word: str = NOT_MEASURED) -> str:
    """Both units, for papers that others read: "96.5 cm (38.0 in)"."""
    return known(None, word) if mm is None else f"{cm(mm)} ({inches(mm)})"


@register.filter
def cm(mm: int | None) -> str:
    """Centimetres to the millimetre, whatever the reader likes."""
    return known(None, NOT_MEASURED) if mm is None else show_length(mm, "cm")


@register.filter
def inches(mm: int | None) -> str:
    """Inches to a tenth; inputs take `bare_length`, which keeps two places."""
    return known(None, NOT_MEASURED) if mm is None else f"{mm / 25.4:.1f} in"


@register.filter
def kg(g: int | None) -> str:
    """Kilograms, whatever the reader likes."""
    return known(None, "not weighed") if g is None else show_weight(g, "kg")


@register.filter
def celsius(tenths: int | None) -> str:
    """Tenths of a degree as "28.5 °C"."""
    return known(None, "not measured") if tenths is None else f"{tenths / 10:.1f}\u00a0°C".replace("-", "\u2212")


@register.filter
def day(value: dt.date | None, word: str = "no date") -> str:
    """A date as "8 Sep 2026", a moment in the archive's time zone; unambiguous in every country."""
    if value is None:
        return known(None, word)
    local = _local(value)
    return f"{local.day}\u00a0{local:%b}\u00a0{local.year}"


@register.filter
def weekday(value: dt.date | None, word: str = "no date") -> str:
    """A date near a deadline, with its day: "Tue 8 Sep 2026"."""
    return known(None, word) if value is None else f"{_local(value):%a}\u00a0{day(value)}"


@register.filter
def moment(value: dt.datetime | None, word: str = "no date") -> str:
    """A moment as "8 Sep 2026, 14:05"."""
    return known(None, word) if value is None else f"{day(value)}, {_local(value):%H:%M}"


@register.filter
def days_between(first: dt.date | None, last: dt.date | None) -> str:
    """ "8 Sep to 12 Sep 2026", a single day once; a missing end is said."""
    if first is None or last is None:
        return f"{day(first)} to {day(last)}" if first or last else known(None, "no dates")
    if first == last:
        return day(first)
    start = _local(first)
    head = f"{start.day}\u00a0{start:%b}" if start.year == _local(last).year else day(first)
    return f"{head} to {day(last)}"


def _local(value: dt.date) -> dt.date:
    if isinstance(value, dt.datetime) and timezone.is_aware(value):
        return timezone.localtime(value)
    return value


@register.filter
def count(number: int, words: str) -> str:
    """The number with its noun: `{{ n|count:"piece,pieces" }}` gives "1 piece" or "3 pieces"."""
    one, _, many = words.partition(",")
    return f"{number} {one if number == 1 else many or one + 's'}"


@register.simple_tag
def money(currency: str, amount: Decimal) -> str:
    """An amount in its currency, "EUR 1,250"."""
    return money_text(currency, amount)


@register.simple_tag
def icon(name: str) -> SafeString:
    """A small drawing beside a word that says the same; hidden from screen readers. An unknown name fails loudly."""
    return mark_safe(  # noqa: S308 - the paths are our own constants
        '<svg class="icon" width="20" height="20" viewBox="0 0 20 20" fill="none" stroke="currentColor" '
        f'stroke-width="1.6" stroke-linecap="round" stroke-linejoin="round" aria-hidden="true">{ICONS[name]}</svg>'
    )


@register.simple_tag
def mark(verdict: str, word: str = "") -> SafeString:
    """A verdict's shape and word. Verdicts: may, conditions, specialist, no, stays, unknown; others fail loudly."""
    shape = MARKS[verdict]
    return format_html('<span class="mark tone-{}">{}{}</span>', shape.tone, mark_safe(shape.svg), word or shape.word)  # noqa: S308


@register.simple_tag
def shape(verdict: str) -> SafeString:
    """The verdict's shape where the sentence beside it says the word: the hanging mark of a reason."""
    drawn = MARKS[verdict]
    return format_html(
        '<span class="mark tone-{}">{}<span class="hidden-text">{}: </span></span>',
        drawn.tone,
        mark_safe(drawn.svg),  # noqa: S308
        drawn.word,
    )


@register.simple_tag
def state(tone: str, word: str) -> SafeString:
    """A state word with its small shape. Tones: good, care, bad, unknown, plain."""
    return format_html('<span class="state tone-{}">{}{}</span>', tone, mark_safe(STATE_SHAPES[tone]), word)  # noqa: S308


TAG_WORDS = {"piece": "piece", "trunk": "trunk", "place": "place"}


@register.inclusion_tag("catalog/_parts/tag.html")
def tag(cut: str, number: str, word: str = "", url: str = "") -> dict[str, Any]:
    """A paper tag. `cut` is piece, trunk or place (its shape); `word` stands beside it; `url` makes it a link."""
    return {"cut": cut, "kind_word": TAG_WORDS[cut], "number": number, "word": word, "url": url}


@register.simple_tag(takes_context=True)
def address_with(context: Context, **changes: Any) -> str:
    """This page's address with some of its query changed: `{% address_with page=3 %}`; None takes a key away."""
    query = context["request"].GET.copy()
    for key, value in changes.items():
        query.pop(key, None)
        if value is not None:
            query[key] = str(value)
    return f"?{query.urlencode()}"


@register.filter
def first_control(field: BoundField) -> str:
    """The id of the field's first control that can take the focus: where a link in the error summary leads."""
    if isinstance(field.field.widget, MultiWidget):
        return f"{field.auto_id}_0"
    return field.id_for_label or field.subwidgets[0].id_for_label
