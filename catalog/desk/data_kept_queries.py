"""Whose data a call holds, and until when; what was deleted, and whether on its day. No size is read for it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Count, Max, Min
from django.utils import timezone

from catalog.core import history
from catalog.fitting.models import Exclusion, Plan, SizeSheet
from catalog.loans.models import Call, Wearer


@dataclass(frozen=True, slots=True)
class Person:
    """A performer as production sees one, and how many sheets are kept until which day."""

    number: str
    name: str
    role: str
    dressed: bool
    days: tuple[date, ...]
    sheets: int
    until: date | None


@dataclass(frozen=True, slots=True)
class Deleted:
    """Sheets that were deleted on a day, by whom."""

    day: date
    sheets: int
    by: str


@dataclass(frozen=True, slots=True)
class DataKept:
    """What is kept of a call's performers. `due`: the day on which the last sheet goes, None when none is kept."""

    call: Call
    people: tuple[Person, ...]
    sheets: int
    due: date | None
    first_due: date | None
    exclusions: int
    deleted: tuple[Deleted, ...]
    today: date

    @property
    def names(self) -> int:
        """How many names are kept."""
        return sum(bool(person.name) for person in self.people)

    @property
    def with_sheets(self) -> int:
        """Of how many performers sheets are kept."""
        return sum(person.sheets > 0 for person in self.people)

    @property
    def overdue(self) -> bool:
        """Whether a sheet is kept past its day."""
        return self.first_due is not None and self.first_due < self.today

    @property
    def sentence(self) -> str:
        """What is kept and until when, or that it is gone since when."""
        gone = sum(one.sheets for one in self.deleted)
        last = max((one.day for one in self.deleted), default=None)
        said = f"{_sheets(gone)} deleted on {last:%-d %b %Y}." if last else ""
        if self.sheets and self.due:
            kept = f"{_sheets(self.sheets)} of {_people(self.with_sheets)} kept until {self.due:%-d %b %Y}."
            late = " The day has passed: they are to be deleted now." if self.overdue else ""
            return f"{said} {kept}{late}".strip()
        return said or "No size sheet was ever kept for this call."


def data_kept(call: Call, today: date) -> DataKept:
    """What is kept of the call's performers; seven queries, however many they are."""
    people = list(call.wearers.prefetch_related("free_days").order_by("number"))
    sheets = SizeSheet.objects.filter(wearer__call=call)
    by_wearer = {
        row["wearer"]: row for row in sheets.order_by().values("wearer").annotate(n=Count("pk"), until=Max("delete_on"))
    }
    days = sheets.aggregate(first=Min("delete_on"), last=Max("delete_on"))
    roles = _roles(call)
    lines = history.lines_of(call.subject).filter(verb="size sheets deleted").order_by("seq")
    return DataKept(
        call=call,
        people=tuple(_person(one, roles.get(one.pk, ""), by_wearer.get(one.pk)) for one in people),
        sheets=sum(row["n"] for row in by_wearer.values()),
        due=days["last"],
        first_due=days["first"],
        exclusions=Exclusion.objects.filter(wearer__call=call).values("wearer").distinct().count(),
        deleted=tuple(
            Deleted(timezone.localdate(line.happened), int(line.after.get("sizes_deleted", 0)), line.by_name)
            for line in lines
        ),
        today=today,
    )


def _roles(call: Call) -> dict[int, str]:
    """The role in which the kept plan dresses each performer."""
    plan = Plan.objects.filter(call=call, current=True).first()
    return dict(plan.lines.values_list("wearer", "role__name")) if plan else {}


def _person(wearer: Wearer, role: str, row: Mapping[str, Any] | None) -> Person:
    days = tuple(sorted(free.day for free in wearer.free_days.all()))
    return Person(
        wearer.number,
        wearer.name,
        role,
        bool(role),
        days,
        row["n"] if row else 0,
        row["until"] if row else None,
    )


def _sheets(count: int) -> str:
    return f"{count} size {'sheet' if count == 1 else 'sheets'}"


def _people(count: int) -> str:
    return f"{count} {'performer' if count == 1 else 'performers'}"
