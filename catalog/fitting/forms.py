"""Forms of the fitting room: filters of the sets, quick fit, size sheets, house bands."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from django import forms
from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.core.exceptions import ValidationError

from catalog.care.models import HazardFinding
from catalog.core import clock
from catalog.core.form_fields import DayField, LengthField, PastDayField, WeightField, length_unit, weight_unit
from catalog.core.plain_forms import PlainForm
from catalog.fitting.actions import TAPES
from catalog.fitting.body_queries import MINOR_AGE
from catalog.fitting.calc.adults import must_say_adult
from catalog.fitting.calc.body import ADULT_AGE, POINT_WORDS, POINTS, Layer, Measure, Person, Shape
from catalog.fitting.calc.body_bounds import bounds_of, impossible_together
from catalog.fitting.models import EaseBand, ExclusionRule, SizeSheet
from catalog.pieces.calc.kinds import POINTS as GARMENT_POINTS
from catalog.pieces.models import Look, Material, Role, Slot
from catalog.pieces.production_models import Kinds

AnyUser = AbstractBaseUser | AnonymousUser
# The choice of quick fit that ranks every role.
ANY_ROLE = "any"
# The order in which the usual tapes are taken; the rest stands behind them.
USUAL_TAPES = (
    "chest", "waist_natural", "hip", "neck", "sleeve_cb", "inside_leg", "head", "head_over_hair", "hand_girth",
    "foot_length",
)  # fmt: skip
OTHER_TAPES = tuple(point for point in POINTS if point in TAPES and point not in USUAL_TAPES)


class SetsForm(PlainForm):
    """Which role, for which day, in which look."""

    role = forms.ChoiceField(required=False)
    day = DayField(required=False, help_text="Empty: as the store stands today.")
    look = forms.ChoiceField(required=False)

    def __init__(self, *args: Any, roles: Sequence[Role], **options: Any) -> None:
        super().__init__(*args, **options)
        looks = Look.objects.filter(production__in={role.production_id for role in roles}).select_related("production")
        self._choices("role", [(role.code, role.name) for role in roles], "every role")
        self._choices("look", [(str(look.pk), f"{look.name}, {look.production.code}") for look in looks], "any look")
        if len(roles) == 1:
            del self.fields["role"]

    def _choices(self, name: str, choices: list[tuple[str, str]], nothing: str) -> None:
        field = self.fields[name]
        if isinstance(field, forms.ChoiceField):
            field.choices = [("", nothing), *choices]


class TapesMixin:
    """Length fields for every tape point of a form."""

    fields: dict[str, forms.Field]

    def add_tapes(self, user: AnyUser) -> None:
        """A field a point, named tape_POINT, in the reader's unit."""
        unit = length_unit(user)
        for point in (*USUAL_TAPES, *OTHER_TAPES):
            words = POINT_WORDS[point]
            self.fields[f"tape_{point}"] = LengthField(
                unit=unit, required=False, label=words.capitalize(), help_text="", bounds=bounds_of(point)
            )

    def tape_fields(self, points: Iterable[str]) -> list[Any]:
        """Bound fields of these points, for the template."""
        return [self[f"tape_{point}"] for point in points]  # type: ignore[index]

    @property
    def usual(self) -> list[Any]:
        """The usual tapes."""
        return self.tape_fields(USUAL_TAPES)

    @property
    def other(self) -> list[Any]:
        """All other tapes."""
        return self.tape_fields(OTHER_TAPES)

    def tapes(self) -> dict[str, int]:
        """The typed tapes by point, in mm."""
        data: dict[str, Any] = self.cleaned_data  # type: ignore[attr-defined]
        typed = {name.removeprefix("tape_"): value for name, value in data.items() if name.startswith("tape_")}
        return {point: value for point, value in typed.items() if value is not None}


class BodyMixin:
    """Height and weight that a body can have, each alone and both together."""

    cleaned_data: dict[str, Any]
    fields: dict[str, forms.Field]

    def add_body(self, user: AnyUser) -> None:
        """Height and weight in the reader's units."""
        height = LengthField(unit=length_unit(user), required=False, label="Height", bounds=bounds_of("height"))
        height.help_text = f"In {height.unit}, or with its unit: 176 cm, 5 ft 9."
        weight = WeightField(unit=weight_unit(user), required=False, label="Weight", bounds=bounds_of("weight"))
        weight.help_text = f"In {weight.unit}, or with its unit: 81 kg, 12 st 3."
        self.fields |= {"height": height, "weight": weight}

    def check_body(self, form: forms.Form) -> None:
        """No body has a child's height and a grown man's weight: a unit was swapped."""
        if wrong := impossible_together(self.cleaned_data.get("height"), self.cleaned_data.get("weight")):
            form.add_error("weight", wrong)


class QuickFitForm(TapesMixin, BodyMixin, PlainForm):
    """One person on the phone. Nothing of it is stored."""

    role = forms.ChoiceField(
        label="Role", error_messages={"required": "Choose a role, or any role to have all of them ranked."}
    )
    first = DayField(label="From", required=False, help_text="Empty: today.")
    last = DayField(label="To", required=False, help_text="Empty: the first day alone.")
    height = LengthField(required=False)
    weight = WeightField(required=False)
    shape = forms.ChoiceField(
        label="Compare with",
        choices=[("either", "either survey"), ("m", "men's survey"), ("f", "women's survey")],
        required=False,
        help_text="Which survey the estimates lean on; says nothing about the person.",
    )
    age = forms.IntegerField(required=False, min_value=0, max_value=120, help_text="Nobody under 18 is predicted.")
    adult = forms.ChoiceField(
        label="18 or over?",
        choices=[("", "not asked"), ("yes", "18 or over"), ("no", "under 18")],
        required=False,
        help_text="Needed for a small person, or one outside the survey, whose age is not typed.",
    )
    exclusions = forms.MultipleChoiceField(
        label="Must not wear", required=False, widget=forms.CheckboxSelectMultiple, help_text="No reason is asked."
    )

    def __init__(self, *args: Any, roles: Sequence[Role], user: AnyUser, **options: Any) -> None:
        super().__init__(*args, **options)
        named = [(role.code, f"{role.name}, {role.production.code}") for role in roles]
        first = [("", "choose a role"), (ANY_ROLE, "any role, the likeliest first")]
        self.fields["role"].choices = [*first, *named] if len(named) > 1 else named  # type: ignore[attr-defined]
        rules = ExclusionRule.objects.all()
        self.fields["exclusions"].choices = [(rule.code, rule.words) for rule in rules]  # type: ignore[attr-defined]
        self.add_body(user)
        self.add_tapes(user)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        self.check_body(self)
        first, last = data.get("first"), data.get("last")
        if first and last and last < first:
            self.add_error("last", "The last day comes on or after the first day.")
        age, adult = self.known_age(), data.get("adult")
        if age is not None and adult and (adult == "yes") != (age >= ADULT_AGE):
            self.add_error("adult", "This does not agree with the age.")
        typed = any(value is not None for name, value in data.items() if name.startswith("tape_"))
        if age is not None and age < 18 and not typed:
            self.add_error("age", "Nobody under 18 is predicted. Take the sizes by tape and type them below.")
        elif not typed and data.get("height") is None and data.get("weight") is None and not self.errors:
            self.add_error("height", "Type a height and a weight, or any tape: nothing can be said without a size.")
        elif not self.errors and adult != "yes" and must_say_adult(self.person()):
            self.add_error("adult", "Is this person 18 or over? Say so, or type the age: nobody under 18 is predicted.")
        return data

    def known_age(self) -> int | None:
        """The age typed, else one below 18 for somebody who is under 18; None when it is not known."""
        age, adult = self.cleaned_data.get("age"), self.cleaned_data.get("adult")
        return int(age) if age is not None else MINOR_AGE if adult == "no" else None

    def person(self) -> Person:
        """What was typed: height and weight as told, tapes as measured."""
        facts = self.cleaned_data
        told = {"height": facts.get("height"), "weight": facts.get("weight")}
        measures = [Measure(point, value, Layer.CARD) for point, value in told.items() if value is not None]
        measures += [Measure(point, value, Layer.TAPED) for point, value in self.tapes().items()]
        shape = Shape(facts.get("shape") or "either")
        return Person(tuple(measures), shape, self.known_age(), frozenset(facts.get("exclusions") or ()))


class SheetForm(TapesMixin, BodyMixin, PlainForm):
    """One size sheet of a performer, and what they must not wear."""

    layer = forms.ChoiceField(label="Where the sizes are from", choices=SizeSheet.Layer.choices)
    height = LengthField(required=False)
    weight = WeightField(required=False)
    reference_shape = forms.ChoiceField(
        label="Compare with", choices=SizeSheet.Shape.choices, help_text="Which survey the estimates lean on."
    )
    taken_on = PastDayField(label="Taken on", required=False)
    taken_by_name = forms.CharField(label="Taken by", max_length=120, required=False)
    consent = forms.BooleanField(
        required=False, label="The performer agreed to the sizes being kept until the day below"
    )
    guardian_consent = forms.CharField(
        max_length=160, required=False, label="Guardian's consent", help_text="Under 18: who agreed, and when."
    )
    delete_on = DayField(label="Delete on")
    exclusions = forms.MultipleChoiceField(
        label="Must not wear", required=False, widget=forms.CheckboxSelectMultiple, help_text="No reason is asked."
    )

    def __init__(self, *args: Any, user: AnyUser, **options: Any) -> None:
        super().__init__(*args, **options)
        rules = ExclusionRule.objects.all()
        self.fields["exclusions"].choices = [(rule.code, rule.words) for rule in rules]  # type: ignore[attr-defined]
        self.add_body(user)
        self.add_tapes(user)

    def clean_delete_on(self) -> date:
        """A day that has passed would delete the sizes the same night: that is a slip."""
        day: date = self.cleaned_data["delete_on"]
        if day < clock.today():
            raise ValidationError(f"{day:%-d %b %Y} has passed. Give the day on which the sizes are deleted.")
        return day

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        self.check_body(self)
        return data


def signed_mm(value: Any) -> int | None:
    """Millimetres from a typed difference in cm, which may lie below nothing; None when left empty."""
    return None if value is None else round(value * 10)


# The four ends of a band: the form's field and the row's.
RANGE = {"least": "min_ease", "most": "max_ease", "good_least": "good_min", "good_most": "good_max"}


class BandForm(PlainForm):
    """How much larger than the body a piece may be, for a slot or a kind."""

    slot = forms.ModelChoiceField(
        Slot.objects.select_related("role").order_by("role__code", "order"),
        required=False,
        help_text="Or a kind below.",
    )
    kind = forms.ChoiceField(choices=[("", "no kind"), *Kinds.choices], required=False)
    body_point = forms.ChoiceField(label="On the body", choices=[(point, POINT_WORDS[point]) for point in POINTS])
    garment_point = forms.ChoiceField(
        label="On the piece", choices=[(key, point.word) for key, point in GARMENT_POINTS.items()]
    )
    scale = forms.ChoiceField(choices=EaseBand.Scale.choices, initial=EaseBand.Scale.MM)
    least = forms.DecimalField(
        required=False, min_value=-100, max_value=100, decimal_places=1, label="Larger by at least",
        help_text="In cm, below nothing when smaller; on the shoe scale in whole sizes. Empty: open.",
    )  # fmt: skip
    most = forms.DecimalField(
        required=False,
        min_value=-100,
        max_value=100,
        decimal_places=1,
        label="Larger by at most",
        help_text="The same.",
    )
    good_least = forms.DecimalField(
        required=False, min_value=-100, max_value=100, decimal_places=1, label="Sits well from",
        help_text="Inside the range above. Empty: nobody has said when it sits well.",
    )  # fmt: skip
    good_most = forms.DecimalField(
        required=False, min_value=-100, max_value=100, decimal_places=1, label="Sits well up to", help_text="The same."
    )
    uses_let_out = forms.BooleanField(required=False, label="May be let out to reach it")
    source = forms.CharField(max_length=200, required=False, help_text="Who says so.")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["slot"].label_from_instance = lambda slot: f"{slot.role.name}: {slot.name}"  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if bool(data.get("slot")) == bool(data.get("kind")):
            self.add_error("slot", "Choose a slot or a kind, one of the two.")
        if data.get("scale") == EaseBand.Scale.EU_SHOE:
            for name in RANGE:
                if data.get(name) is not None and data[name] != int(data[name]):
                    self.add_error(name, "Shoe sizes are counted in whole sizes.")
        return data

    def facts(self) -> dict[str, Any]:
        """The action's arguments."""
        data = self.cleaned_data
        shoes = data["scale"] == EaseBand.Scale.EU_SHOE
        ends = {
            RANGE[name]: (None if data[name] is None else int(data[name])) if shoes else signed_mm(data[name])
            for name in RANGE
        }
        names = ("slot", "kind", "body_point", "garment_point", "scale", "uses_let_out", "source")
        return {name: data[name] for name in names} | ends


class ExclusionRuleForm(PlainForm):
    """What an exclusion rules out."""

    code = forms.RegexField(
        r"^[a-z][a-z0-9_]*$", max_length=40, help_text="Small letters and underlines; the same code again replaces it.",
        error_messages={"invalid": "A code is small letters, digits and underlines: no_silk_contact."},
    )  # fmt: skip
    words = forms.CharField(max_length=80, help_text="As people say it: no silk contact.")
    materials = forms.MultipleChoiceField(required=False, widget=forms.CheckboxSelectMultiple, label="Pieces made of")
    hazards = forms.MultipleChoiceField(required=False, widget=forms.CheckboxSelectMultiple, label="Pieces with")
    kinds = forms.MultipleChoiceField(
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="Kinds, whatever they are made of",
        choices=Kinds.choices,
    )
    spared_kinds = forms.MultipleChoiceField(
        required=False, widget=forms.CheckboxSelectMultiple, label="Kinds that it spares", choices=Kinds.choices
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        names = Material.objects.order_by("name").values_list("name", flat=True)
        self.fields["materials"].choices = [(name, name) for name in names]  # type: ignore[attr-defined]
        # Every hazard that was ever found or ruled out: the house's own words.
        hazards = set(HazardFinding.objects.values_list("hazard", flat=True).distinct())
        hazards |= {hazard for rule in ExclusionRule.objects.all() for hazard in rule.hazards}
        self.fields["hazards"].choices = [(h, h.replace("_", " ")) for h in sorted(hazards)]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if not any(data.get(name) for name in ("materials", "hazards", "kinds")):
            raise ValidationError("Say what it rules out: a material, a hazard or a kind.")
        return data
