"""What is typed about a piece."""

from typing import Any

from django import forms

from catalog.core.form_fields import LengthField, PastDayField, PictureField, WeightField
from catalog.core.models import File
from catalog.core.plain_forms import PlainForm
from catalog.core.units import LengthUnit, WeightUnit
from catalog.pieces.calc.kinds import KINDS, POINTS, Point
from catalog.pieces.measure_fields import let_out_field, measure_field, stays_in_seam
from catalog.pieces.models import Look, Measure, OutfitSet, Part, Piece, PieceFile, Role, Slot, Valuation
from catalog.pieces.production_models import Kinds

NO_CHOICE = ("", "none")


def split_names(text: str) -> list[str]:
    """Names typed with commas or in lines, each once, in the order typed."""
    names = [" ".join(name.split()) for name in text.replace("\n", ",").replace(";", ",").split(",")]
    return list(dict.fromkeys(name for name in names if name))


class NamesField(forms.CharField):
    """Several names with commas between them; what comes out is a list."""

    def to_python(self, value: Any) -> Any:
        return split_names(super().to_python(value) or "")

    def prepare_value(self, value: Any) -> Any:
        return value if isinstance(value, str) or value is None else ", ".join(value)


class ReferenceField(forms.CharField):
    """Another piece by its number, or None."""

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        if not text:
            return None
        if found := Piece.objects.filter(number__iexact=text).first():
            return found
        raise forms.ValidationError(f"There is no piece {text[:30]}.")


class PieceForm(PlainForm):
    """Everything about a piece that edit_piece may change; the production decides which roles and looks are offered."""

    name = forms.CharField(max_length=160)
    kind = forms.ChoiceField(choices=Kinds.choices)
    role = forms.ModelChoiceField(Role.objects.none(), required=False, empty_label="none")
    slot = forms.ModelChoiceField(Slot.objects.none(), required=False, empty_label="none")
    outfit_set = forms.ModelChoiceField(OutfitSet.objects.none(), required=False, empty_label="none", label="Set")
    look = forms.ModelChoiceField(Look.objects.none(), required=False, empty_label="not known", label="Look it is in")
    multiple = forms.ChoiceField(choices=[NO_CHOICE, *Piece.Multiple.choices], required=False)
    materials = NamesField(required=False, help_text="With commas: wool, silk lining, brass buttons.")
    weight_g = WeightField(required=False, label="Weight")
    size_mark = forms.CharField(
        max_length=20, required=False, label="Size mark", help_text="What the label in it says; not how it fits."
    )
    packed_length = LengthField(required=False, label="Packed, length")
    packed_width = LengthField(required=False, label="Packed, width")
    packed_height = LengthField(required=False, label="Packed, height")
    origin = forms.ChoiceField(choices=Piece.Origin.choices)
    reference_piece = ReferenceField(required=False, label="Copied from piece", help_text="A replica's original.")
    made_year = forms.IntegerField(
        min_value=1500,
        max_value=2200,
        required=False,
        label="Year it was made",
        help_text="Only if not for the production.",
    )
    owner = forms.ChoiceField(choices=Piece.Owner.choices)
    owner_name = forms.CharField(max_length=120, required=False, label="Whose", help_text="If it is not ours.")
    note = forms.CharField(widget=forms.Textarea(attrs={"rows": 3}), required=False)

    def __init__(self, *args: Any, piece: Piece, unit: LengthUnit, weight: WeightUnit, **options: Any) -> None:
        options["initial"] = _initial(piece)
        super().__init__(*args, **options)
        production = piece.production
        fields: dict[str, Any] = self.fields
        fields["role"].queryset = production.roles.all()
        fields["slot"].queryset = Slot.objects.filter(role__production=production).select_related("role")
        fields["slot"].label_from_instance = lambda slot: f"{slot.role.name}: {slot.name}"
        fields["outfit_set"].queryset = OutfitSet.objects.filter(role__production=production)
        fields["look"].queryset = production.looks.all()
        fields["weight_g"].unit = weight
        fields["weight_g"].help_text = f"In {weight}, or with its unit: 800 g."
        for side in ("length", "width", "height"):
            fields[f"packed_{side}"].unit = unit
            fields[f"packed_{side}"].help_text = f"In {unit}."

    def clean(self) -> dict[str, Any]:
        """Three sides or none; a slot brings its role."""
        data = super().clean() or {}
        sides = [data.pop(f"packed_{side}", None) for side in ("length", "width", "height")]
        if any(sides) and not all(sides):
            self.add_error("packed_length", "Give all three sides of the packed piece, or none.")
        data["packed_mm"] = tuple(sides) if all(sides) else None
        if data.get("slot") and not data.get("role"):
            data["role"] = data["slot"].role
        return data


def _initial(piece: Piece) -> dict[str, Any]:
    plain = ("name", "kind", "role", "slot", "look", "multiple", "weight_g", "size_mark", "origin", "made_year")
    more = ("owner", "owner_name", "note")
    return {
        **{field: getattr(piece, field) for field in plain + more},
        "outfit_set": piece.set,
        "reference_piece": piece.reference_piece.number if piece.reference_piece else "",
        "materials": [row.name for row in piece.materials.all()],
        "packed_length": piece.packed_length_mm,
        "packed_width": piece.packed_width_mm,
        "packed_height": piece.packed_height_mm,
    }


class MeasuresForm(PlainForm):
    """All points of one piece at once: value, let-out reserve, or why it was not measured."""

    trust = forms.ChoiceField(choices=Measure.Trust.choices, label="These are")
    how = forms.CharField(max_length=120, required=False, label="How", help_text="For example: flat, tape, two people.")
    taken_on = PastDayField(label="Taken on", required=False)
    taken_by = forms.CharField(max_length=80, required=False, label="Taken by")

    def __init__(self, *args: Any, piece: Piece, unit: LengthUnit, **options: Any) -> None:
        self.measures = {row.point: row for row in piece.measures.all()}
        self.points = points_of(piece, self.measures)
        options["initial"] = {**(options.get("initial") or {}), **self._values()}
        super().__init__(*args, **options)
        stays = stays_in_seam()
        for letter, point in zip("ABCDEFGHIJKLMNOPQRSTUVWXYZ", self.points, strict=False):
            self.fields[f"m_{point.key}"] = measure_field(point, unit, letter)
            if point.let_out:
                self.fields[f"out_{point.key}"] = let_out_field(unit, stays)
            self.fields[f"why_{point.key}"] = forms.CharField(
                max_length=120, required=False, label="Not measured, because"
            )

    def rows(self) -> list[list[forms.BoundField]]:
        """The fields of each point together, for the page."""
        ends = [f"_{point.key}" for point in self.points]
        return [
            [self[f"{start}{end}"] for start in ("m", "out", "why") if f"{start}{end}" in self.fields] for end in ends
        ]

    def clean(self) -> dict[str, Any]:
        """A value or a reason, never both; a reserve only beside a value."""
        data = super().clean() or {}
        for point in self.points:
            value, why = data.get(f"m_{point.key}"), data.get(f"why_{point.key}")
            if value is not None and why:
                self.add_error(f"why_{point.key}", "There is a measure: leave the reason empty.")
            if data.get(f"out_{point.key}") is not None and value is None and f"m_{point.key}" not in self.errors:
                self.add_error(f"m_{point.key}", "Give the measure that the let-out reserve belongs to.")
            known = self.measures.get(point.key)
            if known and value is None and not why and f"m_{point.key}" not in self.errors:
                self.add_error(f"why_{point.key}", "It had a measure. Say why it is not measured any more.")
        return data

    def changes(self) -> list[dict[str, Any]]:
        """What set_measure must be told: only the points whose value, reserve or reason is another than before."""
        told = {field: self.cleaned_data[field] for field in ("trust", "how", "taken_on", "taken_by")}
        found = []
        for point in self.points:
            value = self.cleaned_data.get(f"m_{point.key}")
            out = self.cleaned_data.get(f"out_{point.key}")
            why = self.cleaned_data.get(f"why_{point.key}") or ""
            row = self.measures.get(point.key)
            before = (row.value_mm, row.let_out_mm, row.not_measured_because) if row else (None, None, "")
            if self._same(point, before[0], value) and (out, why) == before[1:]:
                continue
            found.append(
                {"point": point.key, "value_mm": value, "let_out_mm": out, "not_measured_because": why, **told}
            )
        return found

    def _same(self, point: Point, before: int | None, value: int | None) -> bool:
        """Showing a size and reading it back may shift a millimetre; that alone is no correction."""
        if f"m_{point.key}" not in self.changed_data:
            return True
        return before == value

    def _values(self) -> dict[str, Any]:
        values: dict[str, Any] = {}
        for key, row in self.measures.items():
            values |= {f"m_{key}": row.value_mm, f"out_{key}": row.let_out_mm, f"why_{key}": row.not_measured_because}
        return values


def points_of(piece: Piece, measured: dict[str, Measure]) -> list[Point]:
    """The points of the piece's kind in their order, then whatever else was measured on it."""
    usual = KINDS[piece.kind].points
    return [POINTS[key] for key in (*usual, *(key for key in measured if key not in usual))]


class PictureForm(PlainForm):
    """One more picture."""

    picture = PictureField(label="Picture", help_text="JPEG, PNG or WebP. Where it was taken is not shown to anybody.")
    view = forms.ChoiceField(choices=PieceFile.View.choices)
    caption = forms.CharField(max_length=160, required=False)
    main = forms.BooleanField(required=False, label="Show it first")
    seen_by = forms.ChoiceField(choices=File.SeenBy.choices, label="Who may see it")
    rights_owner = forms.CharField(max_length=120, required=False, label="Rights belong to")
    permitted_use = forms.CharField(max_length=200, required=False, label="It may be used for")


class PartForm(PlainForm):
    """One more part."""

    letter = forms.CharField(max_length=2, help_text="Stands behind the number: a, b, c.")
    name = forms.CharField(max_length=80, help_text="For example: badge, left strap.")
    side = forms.ChoiceField(choices=[(value, word) for value, word in Part.Side.choices], required=False)


class MatchForm(PlainForm):
    """What must agree with the rest of a set."""

    group = forms.CharField(max_length=30, help_text="For example: ring, dye lot.")
    value = forms.CharField(max_length=30)


class ValueForm(PlainForm):
    """One more value."""

    amount = forms.DecimalField(max_digits=12, decimal_places=2, min_value=0, localize=False)
    currency = forms.CharField(max_length=3, min_length=3, help_text="Three letters.")
    basis = forms.ChoiceField(choices=Valuation.Basis.choices)
    valued_on = PastDayField(label="Valued on")
    source = forms.CharField(max_length=200, required=False, label="Who valued it, on what paper")
