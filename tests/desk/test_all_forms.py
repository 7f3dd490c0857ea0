"""Every form of ours, sent empty and sent rubbish: no sentence of the framework, each fault names its field.

The framework's sentences are told by their being kept for translation (django.utils.functional.Promise) and by their
first words, as written in Django's own source.
"""

import importlib
import inspect
import pkgutil
from collections.abc import Callable
from datetime import date, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from django import forms
from django.http import QueryDict

import catalog
from catalog.core import clock, plain_forms
from catalog.core.days import FIRST_DAY
from catalog.core.form_fields import PastDayField
from catalog.core.plain_forms import PlainForm, PlainSentences, named
from catalog.finding.filters import PieceFilter
from catalog.loans import forms as loan_forms
from catalog.loans.models import Hold, Loan
from catalog.pieces.calc.kinds import KINDS
from catalog.pieces.models import Piece, Role
from catalog.shipping.pack_models import PackCrate
from catalog.storage import actions as storage
from catalog.storage.missing_models import FoundThing
from catalog.storage.models import Place
from catalog.storage.receiving_models import Receipt
from tests.demo_world import DemoWorld

FRAMEWORK = ("This field", "Enter a", "Select a", "Ensure ", "The submitted", "No file was", "Null characters")
RUBBISH = "\u00e6 rubbish 99999999999999999999999999999999999 " * 12


def all_forms() -> list[type[forms.BaseForm]]:
    """Every form class that the rooms declare."""
    found: dict[str, type[forms.BaseForm]] = {}
    for module in pkgutil.walk_packages(catalog.__path__, "catalog."):
        if module.name.rsplit(".", 1)[-1].endswith(("forms", "views")):
            for _, one in inspect.getmembers(importlib.import_module(module.name), inspect.isclass):
                if issubclass(one, forms.BaseForm) and one.__module__.startswith("catalog."):
                    found[f"{one.__module__}.{one.__qualname__}"] = one
    bases = {PlainForm}
    return [one for _, one in sorted(found.items()) if one not in bases]


FORMS = all_forms()


def found_of(world: DemoWorld) -> FoundThing:
    """A thing found without a label; made once."""
    place = Place.objects.filter(parent__isnull=False).first()
    assert place is not None
    return FoundThing.objects.first() or storage.take_in_found(
        by=world.cast.archivist, kind="coat", name="coat", place=place
    )


def needs(world: DemoWorld) -> dict[str, Any]:
    """What the forms ask for when they are made, from the demo's tables."""
    piece = Piece.objects.filter(kind="coat").first() or Piece.objects.first()
    lead = world.cast.wardrobe_lead
    assert piece is not None
    return {
        "piece": piece,
        "unit": "cm",
        "weight": "kg",
        "user": lead,
        "by": world.cast.archivist,
        "kind": KINDS[piece.kind],
        "production": piece.production,
        "roles": list(Role.objects.all()),
        "call": world.call,
        "hold": Hold.objects.first(),
        "days": [date(2031, 1, 1)],
        "wanted": [],
        "unpulled": [],
        "wearers": loan_forms.Wearer.objects.all(),
        "place": None,
        "with_days": True,
        "people": [],
        "code": piece.number,
        "seen": [piece],
        "found": found_of(world),
        "receipt": Receipt(),
        "home": True,
        "places": [("front", "outline, front")],
        "crate": PackCrate(),
        "loan": Loan(pk=0),
        "spec": None,
    }


def make(form: type[forms.BaseForm], data: Any, world: DemoWorld) -> forms.BaseForm:
    """The form with this data, given whatever else it needs."""
    offered = needs(world)
    if form.__name__ == "TableForm":
        offered["kind"] = ""
    if form.__name__ in {"EditPlaceForm"}:
        offered["place"] = SimpleNamespace(is_container=True)
    if form.__name__ == "CallForm":
        offered["call"] = None
    wanted = {
        name
        for base in form.__mro__
        if "__init__" in vars(base) and base.__module__.startswith("catalog.")
        for name, one in inspect.signature(base.__init__).parameters.items()
        if one.kind is inspect.Parameter.KEYWORD_ONLY
    }
    return form(data, **{name: offered[name] for name in wanted if name in offered})


def sentences(form: forms.BaseForm) -> list[tuple[str, str, Any]]:
    """Label, sentence and the raw message of every fault."""
    return [
        (str(form[name].label) if name in form.fields else "", str(text), error.message)
        for name, errors in form.errors.as_data().items()
        for error in errors
        for text in error.messages
    ]


def rubbish(form: forms.BaseForm) -> QueryDict:
    data = QueryDict(mutable=True)
    for name in form.fields:
        data.setlist(form.add_prefix(name), [RUBBISH])
    return data


def test_all_forms_are_found() -> None:
    names = {form.__name__ for form in FORMS}
    assert {"ReportForm", "RecordForm", "SignInForm", "HouseForm", "CallForm", "SheetForm", "MoveForm"} <= names
    assert len(FORMS) > 40


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.__name__)
def test_every_form_speaks_our_sentences(form: type[forms.BaseForm]) -> None:
    assert issubclass(form, PlainSentences), f"{form.__name__}: let it extend core.plain_forms.PlainForm"


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.__name__)
def test_nothing_and_rubbish_are_told_in_our_words(form: type[forms.BaseForm], demo_world: DemoWorld) -> None:
    for fill in (lambda one: QueryDict(), rubbish):
        sent = make(form, fill(make(form, None, demo_world)), demo_world)
        for label, text, message in sentences(sent):
            assert isinstance(message, str), f"{form.__name__} {label}: {text}"
            assert not text.startswith(FRAMEWORK), f"{form.__name__} {label}: {text}"
            told = named(text, label)
            assert not label or not told.casefold().startswith(f"{label}: {label}:".casefold()), told
            assert text.endswith((".", "?")), f"{form.__name__} {label}: {text}"


def test_the_filters_of_find_speak_so_too(demo_world: DemoWorld) -> None:
    data = QueryDict("kind=x&role=x&slot=x&production=x&material=x&look=x&grade=x&wear=x&state=x&unseen=x&sort=x")
    form = PieceFilter(data, queryset=Piece.objects.none()).form
    said = sentences(form)
    assert len(said) > 6
    assert [text for _, text, message in said if not isinstance(message, str)] == []


def past_fields() -> list[tuple[type[forms.BaseForm], str]]:
    return [
        (form, name) for form in FORMS for name, field in form.base_fields.items() if isinstance(field, PastDayField)
    ]


# Days that lie ahead by their nature, or may: plans, deadlines, questions.
AHEAD = {
    "due_on", "undo_by", "delete_on", "day", "first", "last", "first_day", "last_day", "cover_day", "fittings_from",
    "fittings_to", "load_on", "back_on", "use_from", "use_to", "lapses_on", "free_from", "review_on",
}  # fmt: skip


def test_every_day_is_either_past_or_known_to_lie_ahead() -> None:
    loose = [
        f"{form.__name__}.{name}"
        for form in FORMS
        for name, field in form.base_fields.items()
        if isinstance(field, (forms.DateField, forms.DateTimeField))
        and not isinstance(field, PastDayField)
        and name not in AHEAD
    ]
    assert loose == [], "an event that has happened takes PastDayField; one that lies ahead a line in AHEAD"
    assert len(past_fields()) >= 13


@pytest.mark.parametrize(("form", "name"), past_fields(), ids=lambda one: getattr(one, "__name__", one))
def test_no_event_lies_ahead_or_impossibly_far_back(form: type[forms.BaseForm], name: str) -> None:
    field: Any = form.base_fields[name]
    today = clock.today()
    for day, wrong in (
        (today + timedelta(days=1), f"{field.label}: "),
        (FIRST_DAY - timedelta(days=1), f"{field.label}: "),
        (today, ""),
        (FIRST_DAY, ""),
    ):
        said = fault(lambda day=day: field.clean(day.isoformat()))
        assert said.startswith(wrong) and bool(said) == bool(wrong), (day, said)  # noqa: PT018


def fault(act: Callable[[], Any]) -> str:
    try:
        act()
    except forms.ValidationError as wrong:
        return " ".join(wrong.messages)
    return ""


@pytest.mark.parametrize(
    ("text", "label", "told"),
    [
        ("Chest lies between 5 and 260 cm.", "A  Chest", "Chest lies between 5 and 260 cm."),
        ("Say what the limits are.", "Limits", "Say what the limits are."),
        ("Go to the page.", "To", "To: Go to the page."),
        ("“x” is no length.", "A  Chest, all round", "Chest, all round: “x” is no length."),
        ("Grade: nothing was chosen.", "Grade", "Grade: nothing was chosen."),
        ("It is late.", "", "It is late."),
    ],
)
def test_a_fault_names_its_field_once(text: str, label: str, told: str) -> None:
    assert named(text, label) == told


def test_no_answer_about_a_thing_stands_before_somebody_looked(demo_world: DemoWorld) -> None:
    """Radio buttons start empty, but where nothing is claimed by the answer that stands there."""
    # A pencil promises nothing; "unknown" is the word for it; which label to print is no judgement.
    harmless = {"strength", "state", "what"}
    chosen = []
    for form in FORMS:
        made = make(form, None, demo_world)
        for name, field in made.fields.items():
            if isinstance(field.widget, (forms.RadioSelect, forms.CheckboxSelectMultiple)):
                start = made.get_initial_for_field(field, name)
                if start and name not in harmless:
                    chosen.append(f"{form.__name__}.{name}")
    # Performers' days, a release's pieces and the ways that a rule speaks of are asked for, not what somebody saw.
    assert set(chosen) <= {"WearerForm.days", "ReleaseForm.pieces", "RuleForm.ways"}


def test_a_code_nobody_foresaw_still_says_what_to_do() -> None:
    assert plain_forms.what_to_do(forms.CharField(), "never_heard_of", {}).endswith("Look at it again.")
