"""What is typed about calls, holds and loans."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from catalog.core import clock, house
from catalog.core.form_fields import DayField, PastDayField
from catalog.core.plain_forms import PlainForm
from catalog.loans.buffer_queries import days_before
from catalog.loans.hold_queries import pieces_named
from catalog.loans.models import Call, CallNeed, Hold, LoanLine, Wearer
from catalog.pieces.models import Look, Piece, Production
from catalog.storage.models import Place

# A span in one year that seems to end so many days before it starts was meant to run over the year's end.
OVER_THE_YEAR = 180


def day_field(label: str, help_text: str = "", *, required: bool = True) -> forms.DateField:
    """A day, with the browser's own calendar where it has one."""
    return DayField(label=label, help_text=help_text, required=required)


def words(label: str, missing: str, help_text: str = "", limit: int = 160) -> forms.CharField:
    """A line of words that must be there."""
    return forms.CharField(label=label, max_length=limit, help_text=help_text, error_messages={"required": missing})


def order_sentence(start: date, end: date) -> str:
    """That a span ends before it starts; with the year that was probably meant, when a year's end lies between."""
    plain = "The last day comes on or after the first day."
    if start.year != end.year or (start - end).days < OVER_THE_YEAR:
        return plain
    return f"{plain} Over the year's end? Then write {end:%-d %b} {end.year + 1}."


class CallForm(PlainForm):
    """The facts of a call."""

    reference = words("Reference", "Give the call a reference.", "As the production writes it; no blanks.", limit=30)
    title = words("What is asked", "Say in a few words what is asked.", "For example: pick-ups for the last scene.")
    production = forms.ModelChoiceField(
        Production.objects.all(), label="Production", error_messages={"required": "Choose the production."}
    )
    purpose = forms.ChoiceField(choices=Call.Purpose.choices, label="Purpose")
    asked_by = forms.CharField(label="Who asks", max_length=160, required=False)
    where = words("Where", "Say where the pieces go.", limit=200)
    look = forms.ModelChoiceField(
        Look.objects.select_related("production"), label="Look", required=False, empty_label="not said"
    )
    received_on = PastDayField(label="Call received")
    first_day = day_field("First day of use")
    last_day = day_field("Last day of use")
    cover_day = day_field("Weather cover", required=False)
    fittings_from = day_field("Fittings from", required=False)
    fittings_to = day_field("Fittings to", required=False)
    load_on = day_field("Truck loads")
    back_on = day_field("Back at the dock")
    close_up = forms.BooleanField(label="Seen in close-up", required=False)
    wet_or_dusty = forms.BooleanField(label="Wet or dusty", required=False)
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(self, *args: Any, call: Call | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["look"].label_from_instance = lambda look: f"{look.production.code}: {look.name}"  # type: ignore[attr-defined]
        if call is not None:
            for name in ("reference", "production", "received_on"):
                del self.fields[name]
            self.initial = {name: getattr(call, name) for name in self.fields}
            self.fields["look"].queryset = Look.objects.select_related("production").filter(  # type: ignore[attr-defined]
                production=call.production_id
            )


class NeedsForm(PlainForm):
    """How many performers in each role of the call's production."""

    def __init__(self, *args: Any, call: Call, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.roles = list(call.production.roles.order_by("name"))
        have = dict(CallNeed.objects.filter(call=call).values_list("role_id", "count"))
        for role in self.roles:
            self.fields[f"role_{role.pk}"] = forms.IntegerField(
                label=role.name,
                min_value=0,
                max_value=9999,
                required=False,
                initial=have.get(role.pk),
                widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
                error_messages={"invalid": f"Type how many for {role.name}, for example 6."},
            )

    def counts(self) -> Iterable[tuple[Any, int]]:
        """Each role with its number; an empty field is none."""
        return [(role, self.cleaned_data.get(f"role_{role.pk}") or 0) for role in self.roles]


class WearerForm(PlainForm):
    """One performer on the call's list. Sizes are taken elsewhere."""

    number = words("Number", "Give the performer a number.", limit=20)
    name = forms.CharField(label="Name", max_length=120, required=False)
    days = forms.TypedMultipleChoiceField(
        label="Free on",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        coerce=date.fromisoformat,
    )
    minor = forms.BooleanField(label="Under 18", required=False)

    def __init__(self, *args: Any, days: Iterable[Any], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["days"]
        field.choices = [(day.isoformat(), f"{day:%a %-d %b}") for day in days]  # type: ignore[attr-defined]
        field.initial = [value for value, _ in field.choices]  # type: ignore[attr-defined]


class HoldForm(PlainForm):
    """A hold: which pieces, which days, pencil or firm."""

    pieces = forms.CharField(
        label="Pieces",
        help_text="Numbers of pieces or codes of whole sets, each on a line or with commas between.",
        widget=forms.Textarea(attrs={"rows": 5, "spellcheck": "false"}),
        error_messages={"required": "Choose at least one piece to hold."},
    )
    for_whom = words("For whom", "Say for whom.")
    use_from = day_field("First day needed")
    use_to = day_field("Last day needed")
    days_before = forms.IntegerField(label="Days before, for prep", min_value=0, max_value=365)
    days_after = forms.IntegerField(label="Days after, for quarantine", min_value=0, max_value=365)
    strength = forms.ChoiceField(
        label="How sure", choices=Hold.Strength.choices, initial=Hold.Strength.PENCIL, widget=forms.RadioSelect
    )
    own_needs = forms.BooleanField(
        label="Begin earlier where a piece must be frozen or repaired first",
        required=False,
        help_text="The days before grow to what the slowest piece needs, one job after the other.",
    )
    begun = forms.BooleanField(label="The use has begun already", required=False)
    purpose = forms.ChoiceField(
        label="What for",
        choices=[("", "as its call; without one: to be worn"), *Hold.Purpose.choices],
        required=False,
        help_text="For an exhibition or for study nobody wears the pieces.",
    )
    confirmed_by = forms.CharField(label="Authorised by", max_length=120, required=False, help_text="For a firm hold.")
    lapses_on = day_field("Pencil lapses on", "Empty: after the house's number of days.", required=False)
    notice_days = forms.IntegerField(
        label="Days of notice for an early release", min_value=0, max_value=999, required=False
    )
    reference = words("Reference", "Give the hold a reference.", limit=30)
    note = forms.CharField(label="Note", max_length=300, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        initial = {
            "days_before": house.value("hold.days_before"),
            "days_after": house.value("hold.days_after"),
            **(kwargs.pop("initial", None) or {}),
        }
        super().__init__(*args, **kwargs | {"initial": initial})
        # What was understood, kept beside the errors: the page shows who has the pieces when a hold is refused.
        self.asked: dict[str, list[Piece]] = {}

    def clean_pieces(self) -> list[Piece]:
        """The pieces named, each once; whole sets by their code."""
        found, unknown = pieces_named(self.cleaned_data["pieces"])
        if unknown:
            raise ValidationError(f"No piece and no set is called {', '.join(unknown[:5])}.")
        self.asked["pieces"] = found
        return found

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        begun, own_needs = data.pop("begun", False), data.pop("own_needs", False)
        start, end = data.get("use_from"), data.get("use_to")
        if own_needs and start and data.get("pieces"):
            needed = days_before([piece.pk for piece in data["pieces"]], start)
            data["days_before"] = max(data.get("days_before") or 0, needed)
        if start and end and end < start:
            self.add_error("use_to", order_sentence(start, end))
        elif end and end < clock.today():
            self.add_error("use_to", "These days have passed. Look at the year.")
        elif start and start < clock.today() and not begun:
            passed = f"{start:%-d %b %Y} has passed. Look at the day, or say below that the use has begun."
            self.add_error("use_from", passed)
        if data.get("strength") == Hold.Strength.FIRM and not data.get("confirmed_by"):
            self.add_error("confirmed_by", "A firm hold needs the name of who authorised it.")
        lapses = data.get("lapses_on")
        if data.get("strength") == Hold.Strength.PENCIL and lapses and lapses <= clock.today():
            self.add_error("lapses_on", "Choose a day after today: a pencil is gone on the day it lapses.")
        return data


class FirmUpForm(PlainForm):
    """Who authorised it."""

    confirmed_by = words("Authorised by", "A firm hold needs the name of who authorised it.", limit=120)


class ReleaseForm(PlainForm):
    """Which pieces are let go, from when, and why."""

    pieces = forms.ModelMultipleChoiceField(
        Piece.objects.none(),
        label="Let go",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick what is let go."},
    )
    free_from = day_field("Free from", "Empty: from today.", required=False)
    reason = words("Why", "Say why the hold is released.", limit=200)

    def __init__(self, *args: Any, hold: Hold, only: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["pieces"]
        some = {number.strip().casefold() for number in only.split(",")} if only else set()
        held = Piece.objects.filter(holds__hold=hold, holds__released_on=None).order_by("number")
        field.queryset = held  # type: ignore[attr-defined]
        # A clash links here with the pieces it is about: only those are ticked.
        field.initial = [piece.pk for piece in held if not some or piece.number.casefold() in some]
        field.label_from_instance = lambda piece: f"{piece.number} {piece.name}"  # type: ignore[attr-defined]


class PullForm(PlainForm):
    """One scan on the pull list, or a substitute with its reason."""

    code = forms.CharField(max_length=300, required=False)
    substitute_for = forms.ModelChoiceField(Piece.objects.none(), required=False, to_field_name="number")
    reason = forms.CharField(max_length=160, required=False)

    def __init__(self, *args: Any, wanted: Iterable[LoanLine], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        ids = [line.piece_id for line in wanted]
        field = self.fields["substitute_for"]
        field.label = "Instead of"
        self.fields["code"].label = "What goes instead"
        self.fields["reason"].label = "Why"
        field.queryset = Piece.objects.filter(pk__in=ids).order_by("number")  # type: ignore[attr-defined]
        field.label_from_instance = lambda piece: f"{piece.number} {piece.name}"  # type: ignore[attr-defined]


class SendForm(PlainForm):
    """Who takes the pieces, when, and what stays after all."""

    taken_by = words("Taken by", "Write who takes the pieces.", "Who has custody from now on, and signs.", limit=120)
    out_on = PastDayField(label="Day it leaves")
    reason = words(
        "Why the rest stays", "Say why they stay behind.", "One reason for all that is left behind.", limit=200
    )
    # How many the page said would stay: what was pulled or put back meanwhile must be seen first.
    leaving = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, unpulled: Iterable[LoanLine], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unpulled = [line.piece.number for line in unpulled]
        self.initial["leaving"] = len(self.unpulled)
        if not self.unpulled:
            del self.fields["reason"], self.fields["leaving"]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        leaving = data.pop("leaving", None)
        if leaving is not None and self.unpulled:
            if leaving != len(self.unpulled):
                number = len(self.unpulled)
                is_ = "is" if number == 1 else "are"
                raise ValidationError(f"Meanwhile {number} {is_} not pulled, not {leaving}. Look again.")
            data["leave_behind"] = self.unpulled
        return data


class SignOutForm(PlainForm):
    """A piece to a performer."""

    code = words("Piece", "Scan a label or type a piece number.", limit=300)
    wearer = forms.ModelChoiceField(
        Wearer.objects.none(),
        label="Out to",
        required=False,
        to_field_name="number",
        empty_label="nobody: it comes in",
    )

    def __init__(self, *args: Any, wearers: Any, by_name: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["wearer"]
        field.queryset = wearers  # type: ignore[attr-defined]
        field.label_from_instance = lambda one: f"{one.number} {one.name if by_name else ''}".strip()  # type: ignore[attr-defined]


class ReturnForm(PlainForm):
    """One piece that came home: how it is, and which of its parts are there."""

    code = words("Piece", "Scan a label or type a piece number.", limit=300)
    result = forms.ChoiceField(
        label="It came back",
        choices=LoanLine.Result.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "It came back: nothing was chosen. Say how it came back."},
    )
    note = forms.CharField(label="What changed or is missing", max_length=200, required=False)
    parts_back = forms.MultipleChoiceField(
        label="Parts that are here", required=False, widget=forms.CheckboxSelectMultiple
    )
    place = forms.ModelChoiceField(
        Place.objects.filter(kind=Place.Kind.QUARANTINE), label="Kept apart in", required=False, empty_label=None
    )

    def __init__(self, *args: Any, line: LoanLine | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        parts = [row.part for row in line.parts.select_related("part")] if line else []
        field = self.fields["parts_back"]
        field.choices = [(part.letter, f"{part.letter} {part.name}") for part in parts]  # type: ignore[attr-defined]
        if not parts:
            del self.fields["parts_back"]
        place = self.fields["place"]
        place.label_from_instance = lambda one: f"{one.code} {one.name}"  # type: ignore[attr-defined]


class PutAwayForm(PlainForm):
    """What was found, and the place if it is not the home."""

    findings = forms.CharField(label="Looked at and found", max_length=200, required=False)
    place = forms.CharField(
        label="Put at", max_length=30, required=False, help_text="Code of the place; empty: its home."
    )

    def clean_place(self) -> Place | None:
        code = self.cleaned_data["place"].strip()
        place = Place.objects.filter(code__iexact=code).first() if code else None
        if code and place is None:
            raise ValidationError(f"There is no place {code}.")
        return place


class ReasonForm(PlainForm):
    """One sentence of why."""

    reason = words("Why", "Say why.", limit=200)
