"""What all loaders share: who loads, what was found in the house by its code, counts, and faults as sentences."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Any, TypeVar

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db.models import Model
from django.utils import timezone

from catalog.access.models import User
from catalog.core.errors import CatalogError, Refused, WrongValues
from catalog.exchange.calc.rows import Row
from catalog.loans.models import Call
from catalog.pieces.models import Piece, Production, Role, Slot
from catalog.storage.models import Place

Thing = TypeVar("Thing", bound=Model)
# Later faults mostly follow from the first ones.
MOST_FAULTS = 25
MOST_NAMED = 100


class UnknownThing(CatalogError):
    """A cell names something the house does not have; `field` is our column."""


@dataclass
class Loading:
    """One table on its way in: inside one transaction, which is undone when there is any fault."""

    by: User
    source: str
    call: Call | None = None
    counts: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    gathered: list[Any] = field(default_factory=list)
    set_aside: dict[str, list[str]] = field(default_factory=dict)
    _found: dict[tuple[type[Model], str], Model] = field(default_factory=dict)

    def count(self, word: str, number: int = 1) -> None:
        """So many more of these were stored."""
        self.counts[word] += number

    def leave_out(self, why: str, name: str) -> None:
        """A row that makes no piece is named in the answer, under the reason."""
        self.set_aside.setdefault(why, []).append(name)

    @property
    def left_out(self) -> tuple[str, ...]:
        """ "To return, no piece (2): fur coat; cane": what was left out, a sentence for each reason."""
        return tuple(f"{why}, no piece ({len(names)}): {_named(names)}." for why, names in self.set_aside.items())

    @contextmanager
    def row(self, row: Row) -> Iterator[None]:
        """Turn what a room refuses into a sentence with row and field."""
        try:
            yield
        except WrongValues as wrong:
            for name, sentences in wrong.faults.items():
                self.faults += [_said(row, name, sentence) for sentence in sentences]
        except CatalogError as wrong:
            self.faults.append(_said(row, wrong.field or "", wrong.sentence))
        except ValidationError as wrong:
            by_field = wrong.message_dict if hasattr(wrong, "error_dict") else {NON_FIELD_ERRORS: wrong.messages}
            for name, messages in by_field.items():
                known = "" if name == NON_FIELD_ERRORS else name
                self.faults += [_said(row, known, message) for message in messages]

    @contextmanager
    def table(self) -> Iterator[None]:
        """Keep what a room refuses of the table as a whole."""
        try:
            yield
        except WrongValues as wrong:
            self.faults += [sentence for sentences in wrong.faults.values() for sentence in sentences]
        except CatalogError as wrong:
            self.faults.append(wrong.sentence)

    @property
    def full(self) -> bool:
        """Whether enough faults are known to stop."""
        return len(self.faults) >= MOST_FAULTS

    def refuse_taken(self, kind: type[Model], row: Row, name: str = "code", **among: Any) -> None:
        """Name the column when the house has a thing of this code already; a constraint would name the row alone."""
        given = str(row.get(name, ""))
        if given and kind._default_manager.filter(**{f"{name}__iexact": given}, **among).exists():
            raise Refused(f"{given} is there already.", field=name)

    def production(self, row: Row, name: str = "production") -> Production:
        return self._by_code(Production, row, name, "production")

    def role(self, row: Row, name: str = "role") -> Role:
        return self._by_code(Role, row, name, "role")

    def place(self, row: Row, name: str) -> Place | None:
        return self._by_code(Place, row, name, "place") if row.get(name) else None

    def named_call(self, row: Row, name: str = "call") -> Call:
        return self._by_code(Call, row, name, "call", "reference")

    def slot(self, row: Row, name: str = "slot") -> Slot:
        """The slot of the row's role."""
        role, code = self.role(row), str(row.get(name))
        return self._kept(
            (Slot, f"{role.pk} {code.lower()}"),
            lambda: Slot.objects.select_related("role").filter(role=role, code__iexact=code).first(),
            UnknownThing(f"{role.name} has no slot “{code}”.", field=name),
        )

    def piece(self, number: str, name: str) -> Piece:
        return self._kept(
            (Piece, number.lower()),
            lambda: Piece.objects.filter(number__iexact=number).first(),
            UnknownThing(f"there is no piece {number}.", field=name),
        )

    def keep(self, thing: Model, key: str) -> None:
        """Remember what was just made, so that later rows find it without asking."""
        self._found[(type(thing), key.lower())] = thing

    def or_make(
        self, kind: type[Thing], key: str, find: Callable[[], Thing | None], make: Callable[[], Thing]
    ) -> Thing:
        """The thing of this key, made when the house has none."""
        found = self._found.get((kind, key.lower())) or find() or make()
        self._found[(kind, key.lower())] = found
        return found  # type: ignore[return-value]

    def _by_code(self, kind: type[Thing], row: Row, name: str, word: str, field_name: str = "code") -> Thing:
        code = str(row.get(name, ""))
        return self._kept(
            (kind, code.lower()),
            lambda: kind._default_manager.filter(**{f"{field_name}__iexact": code}).first(),
            UnknownThing(f"there is no {word} “{code}”." if code else f"the {word} is empty.", field=name),
        )

    def _kept(self, key: tuple[type[Thing], str], find: Callable[[], Thing | None], missing: UnknownThing) -> Thing:
        found = self._found.get(key) or find()
        if found is None:
            raise missing
        self._found[key] = found
        return found  # type: ignore[return-value]


def _named(names: list[str]) -> str:
    more = len(names) - MOST_NAMED
    return "; ".join(names[:MOST_NAMED]) + (f"; and {more} more" if more > 0 else "")


def noon(day: date | None) -> datetime | None:
    """A day of an old list as a moment: nobody wrote the hour."""
    return None if day is None else timezone.make_aware(datetime.combine(day, time(12)))


def only(values: Mapping[str, Any], **names: str) -> dict[str, Any]:
    """The filled columns, renamed to an action's arguments: only(row.values, title="title", sets_made="sets_made")."""
    return {argument: values[name] for argument, name in names.items() if name in values}


# What an action calls a field, where our column has another name.
_COLUMNS = {"parent": "place", "to": "place", "valued_on": "value_date", "outfit_set": "set"}


def _said(row: Row, name: str, sentence: str) -> str:
    known = name if name in row.fields else _COLUMNS.get(name, name)
    if known in row.fields:
        return row.said(known, sentence)
    return f"Row {row.number}: {sentence}"
