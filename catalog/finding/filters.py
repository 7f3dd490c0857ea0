"""The filters of the Find page. They live in the address, so a search can be kept and passed on."""

from typing import Any

import django_filters
from django import forms
from django.db.models import F, OuterRef, Q, QuerySet, Subquery

from catalog.care.evidence_queries import must_not_be_washed
from catalog.care.models import ConditionReport, WearDecision
from catalog.core.codes import CodeError, looks_like_code, read_code
from catalog.core.plain_forms import PlainForm
from catalog.finding.places import in_place, places_named
from catalog.finding.queries import matching
from catalog.loans.home_queries import to_look_at
from catalog.pieces.calc.materials import SHORT_LIVED
from catalog.pieces.models import Look, Material, Piece, Production, Role, Slot
from catalog.pieces.production_models import Kinds
from catalog.storage.models import Label, Place, State

NO_DECISION = "none"
WEAR_CHOICES = [*WearDecision.Decision.choices, (NO_DECISION, "no decision")]
SORTS = (
    ("number", "number"),
    ("name", "name"),
    ("seen", "longest unseen first"),
    ("-seen", "seen last first"),
    ("place", "place"),
    ("grade", "worst condition first"),
)
SHORT_LIVED_ONES, KEEP_THE_LOOK, CAME_HOME = "short-lived", "keep-the-look", "came-home-changed"
QUESTIONS = (
    (SHORT_LIVED_ONES, "Which will die first?"),
    (KEEP_THE_LOOK, "What must not be washed?"),
    (CAME_HOME, "What came home changed and waits for a look?"),
)


def slot_choices() -> list[tuple[str, str]]:
    """Each slot code once: several roles have boots."""
    return [(code, code) for code in Slot.objects.order_by("code").values_list("code", flat=True).distinct()]


def newest_grade() -> Subquery:
    """The grade of a piece's newest report."""
    newest = ConditionReport.objects.filter(piece=OuterRef("pk")).order_by("-reported_at", "-id")
    return Subquery(newest.values("grade")[:1])


def look_choices() -> list[tuple[str, str]]:
    """Each look's name once: productions share names."""
    return [(name, name) for name in Look.objects.order_by("name").values_list("name", flat=True).distinct()]


class PlaceField(forms.CharField):
    """A place by its code, or by the code of its label. Typed, because a store has thousands."""

    def clean(self, value: Any) -> Place | None:
        """The place, or a sentence."""
        text = super().clean(value)
        if not text:
            return None
        if looks_like_code(text):
            try:
                label = Label.objects.filter(code=read_code(text), place__isnull=False).select_related("place").first()
            except CodeError as wrong:
                raise forms.ValidationError(str(wrong)) from wrong
            if label is not None:
                return label.place
        places = places_named(text)
        exact = [place for place in places if place.code.lower() == text.lower()]
        if len(exact or places) > 1:
            codes = ", ".join(place.code for place in places)
            raise forms.ValidationError(f"“{text}” may be {codes}. Type one of these codes.")
        if not places:
            raise forms.ValidationError(f"There is no place “{text}”. Type a place's code, for example from its label.")
        return (exact or places)[0]


def within(pieces: QuerySet[Piece], place: Place) -> QuerySet[Piece]:
    """Those of the pieces that lie in the place, at any depth."""
    inside = Place.objects.descendants(place, include_self=True)
    return pieces.filter(standing__place__in=list(inside.values_list("pk", flat=True)))


class PlaceFilter(django_filters.Filter):
    """Pieces in a place and in everything under it."""

    field_class = PlaceField

    def filter(self, qs: QuerySet[Piece], value: Place | None) -> QuerySet[Piece]:
        """Contents of the place, of its shelves and of the containers on them."""
        return qs if value is None else within(qs, value)


class PieceFilter(django_filters.FilterSet):
    """Free text and filters over pieces; an unknown value gets a sentence, never a silent empty list."""

    text = django_filters.CharFilter(
        method="by_text", label="Words", help_text="Number, name, role, set, material, note; or “gloves in trunk 7”."
    )
    ask = django_filters.ChoiceFilter(method="by_question", label="Question", choices=QUESTIONS, empty_label="none")
    production = django_filters.ModelChoiceFilter(
        queryset=Production.objects.all(), to_field_name="code", empty_label="any"
    )
    role = django_filters.ModelChoiceFilter(queryset=Role.objects.all(), to_field_name="code", empty_label="any")
    slot = django_filters.ChoiceFilter(field_name="slot__code", label="Slot", choices=slot_choices, empty_label="any")
    kind = django_filters.ChoiceFilter(choices=Kinds.choices, empty_label="any")
    material = django_filters.ModelChoiceFilter(
        field_name="materials",
        label="Material",
        queryset=Material.objects.all(),
        to_field_name="name",
        empty_label="any",
    )
    place = PlaceFilter(label="Place", help_text="A place's code; everything under it is searched too.")
    look = django_filters.ChoiceFilter(field_name="look__name", label="Look", choices=look_choices, empty_label="any")
    grade = django_filters.ChoiceFilter(
        method="by_grade", label="Condition", choices=ConditionReport.Grade.choices, empty_label="any"
    )
    wear = django_filters.ChoiceFilter(method="by_wear", label="Wear decision", choices=WEAR_CHOICES, empty_label="any")
    state = django_filters.ChoiceFilter(
        field_name="standing__state", label="State", choices=State.choices, empty_label="any"
    )
    unseen = django_filters.DateFilter(
        method="by_unseen",
        label="Not seen since",
        help_text="Pieces with no sighting on or after this day.",
        widget=forms.DateInput(attrs={"type": "date"}),
    )
    sort = django_filters.ChoiceFilter(
        method="by_sort", label="Sort by", choices=SORTS, empty_label=None, null_label=None
    )

    class Meta:
        form = PlainForm
        model = Piece
        fields: list[str] = []

    def by_text(self, pieces: QuerySet[Piece], name: str, value: str) -> QuerySet[Piece]:
        """Every word must stand somewhere; "in trunk 7" at the end looks only there."""
        inside = in_place(value)
        return matching(pieces, value) if inside is None else matching(within(pieces, inside[1]), inside[0])

    def by_question(self, pieces: QuerySet[Piece], name: str, value: str) -> QuerySet[Piece]:
        """By what is recorded alone: a piece nobody described is in no answer, which says nothing about it."""
        if value == KEEP_THE_LOOK:
            return must_not_be_washed(pieces)
        if value == CAME_HOME:
            return pieces.filter(pk__in=to_look_at().values("pk"))
        made_of = Q()
        for word in SHORT_LIVED:
            made_of |= Q(name__icontains=word)
        return pieces.filter(pk__in=Piece.objects.filter(materials__in=Material.objects.filter(made_of)).values("pk"))

    def by_grade(self, pieces: QuerySet[Piece], name: str, value: str) -> QuerySet[Piece]:
        """By the grade of the newest report."""
        return pieces.annotate(newest_grade=newest_grade()).filter(newest_grade=value)

    def by_wear(self, pieces: QuerySet[Piece], name: str, value: str) -> QuerySet[Piece]:
        """By the current decision, or by having none; one in question counts for nothing."""
        current = WearDecision.objects.filter(current=True)
        if value == NO_DECISION:
            return pieces.exclude(pk__in=current.values("piece"))
        return pieces.filter(pk__in=current.filter(decision=value, questioned_on=None).values("piece"))

    def by_unseen(self, pieces: QuerySet[Piece], name: str, value: Any) -> QuerySet[Piece]:
        """A piece that was never seen counts as unseen."""
        return pieces.filter(
            Q(standing__isnull=True) | Q(standing__last_seen__isnull=True) | Q(standing__last_seen__lt=value)
        )

    def by_sort(self, pieces: QuerySet[Piece], name: str, value: str) -> QuerySet[Piece]:
        """Ties fall back on the number, so that pages never overlap."""
        if value == "grade":
            pieces = pieces.annotate(sorted_grade=newest_grade())
        order = {
            "grade": [F("sorted_grade").desc(nulls_last=True)],
            "number": [F("number").asc()],
            "name": [F("name").asc()],
            "seen": [F("standing__last_seen").asc(nulls_first=True)],
            "-seen": [F("standing__last_seen").desc(nulls_last=True)],
            "place": [F("standing__place__code").asc(nulls_last=True)],
        }[value]
        return pieces.order_by(*order, "number")
