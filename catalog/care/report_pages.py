"""The page on which a condition report is written: facts, old marks answered, new marks pinned on a picture.

A tap on the picture, another picture and another row are posts that keep what was typed and store nothing: so the page
works without a script. Whoever opens it says what happens to a good report (`keep`).
"""

import base64
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from django.http import HttpRequest, HttpResponse

from catalog.care.calc.marks import ZONES, proper_side, words_for
from catalog.care.models import ConditionMark, ConditionReport
from catalog.care.queries import care_facts
from catalog.care.report_actions import LIVING, MarkSeen
from catalog.care.report_boards import Board, board_of, height_of, outlines_of
from catalog.care.report_forms import MarkForm, MarkFormSet, OldMarkFormSet, ReportForm
from catalog.core.form_fields import length_unit
from catalog.core.http import render_page
from catalog.core.models import File
from catalog.core.plain_forms import named
from catalog.pieces.kept_pictures import kept_picture, picture_bytes
from catalog.pieces.models import Piece
from catalog.pieces.pages import done, signed_in, steps_to
from catalog.pieces.queries import pictures_for

_TAP = re.compile(r"^tap(\d+)\.x$")
_TAKEN = "taken"  # the place of a mark on the picture that was sent with this page and belongs to no piece yet
_LOOKS = ("show", "more")


@dataclass(slots=True)
class Task:
    """What this report is about, and what becomes of it.

    `last`: the report it starts from. `home`: it is of something that came home, so new marks have a cause. `keep`
    stores it and `done_at` is where that leads.
    """

    piece: Piece
    last: ConditionReport | None
    keep: Callable[..., Any]
    done_at: Callable[[], HttpResponse]
    answer: str
    verb: str = "Sign this report"
    home: bool = False
    occasion: str = ""
    steps: list[dict[str, str]] = field(default_factory=list)


def report_page(request: HttpRequest, task: Task) -> HttpResponse:
    """Show the page, carry out one of its taps, or keep the report."""
    user, posted = signed_in(request), request.method == "POST"
    sent = ReportForm(request.POST, request.FILES, piece=task.piece) if posted else None
    kept = ""
    if sent is not None:
        sent.is_valid()
        kept = kept_picture(sent, user)
    old = list(task.last.marks.filter(state__in=LIVING).select_related("file", "report")) if task.last else []
    boards = _boards(request, task.piece, kept)
    tap = next((match for name in request.POST if (match := _TAP.match(name))), None)
    looks = posted and (tap is not None or any(name in request.POST for name in _LOOKS))
    rows = _Rows(request, task, boards, old)
    board = _chosen(request, boards)
    if sent is not None and not looks:
        form, marks, olds = sent, rows.sent_marks(), rows.sent_olds()
        if not rows.same_olds(olds):
            form.add_error(None, f"Meanwhile {task.piece} has a newer report: answer its marks and sign again.")
            olds = rows.asked_olds()
        good = [form.is_valid(), marks.is_valid(), olds.is_valid()]
        if all(good) and done(form, lambda: _keep(task, user, form, rows, (marks, olds))):
            return task.done_at()
    else:
        typed = rows.typed_marks(tap, board)
        form = ReportForm(piece=task.piece, initial=_as_typed(request) if posted else _first(task))
        marks = MarkFormSet(prefix="mark", initial=typed, form_kwargs=rows.options)
        olds = rows.asked_olds()
    context = {
        "piece": task.piece,
        "task": task,
        "verb": task.verb,
        "care": care_facts(task.piece),
        "form": form,
        "marks": marks,
        "olds": olds,
        "old_rows": list(zip(old, olds.forms, strict=False)),
        "last": task.last,
        "mark_errors": [*_errors(olds, "Old mark"), *_errors(marks, "Mark", len(old))],
        "has_errors": (olds.is_bound and not olds.is_valid()) or (marks.is_bound and not marks.is_valid()),
        "kept": kept,
        "picture_problem": sent.errors.get("picture") if sent is not None and looks else None,
        "board": board,
        "boards": boards,
        "pins": _pins(board, old, marks),
        "here": rows.here,
        "mark_offset": len(old),
        "no_letters": {},
        "zones": ZONES,
        "damage_words": words_for(task.piece.materials.values_list("family", flat=True)),
        "steps": task.steps or steps_to(task.piece, "Condition"),
        "two_sided": bool(proper_side(task.piece.kind, board.key, 900)),
    }
    faulty = form.is_bound and (form.errors or context["has_errors"])
    return render_page(request, "catalog/care/report.html", context, status=422 if faulty else 200)


class _Rows:
    """The rows of marks of one request, as they were typed."""

    def __init__(self, request: HttpRequest, task: Task, boards: Sequence[Board], old: list[ConditionMark]) -> None:
        self.request, self.task, self.old = request, task, old
        self.boards = {board.key: board for board in boards}
        self.here: int | None = None
        self.options: dict[str, Any] = {
            "unit": length_unit(signed_in(request)),
            "places": [(board.key, board.word) for board in boards],
            "home": task.home,
            "piece_kind": task.piece.kind,
        }

    def sent_marks(self) -> Any:
        return MarkFormSet(self.request.POST, prefix="mark", form_kwargs=self.options)

    def sent_olds(self) -> Any:
        if "old-TOTAL_FORMS" not in self.request.POST and not self.old:
            return OldMarkFormSet(
                {"old-TOTAL_FORMS": "0", "old-INITIAL_FORMS": "0"}, prefix="old", form_kwargs={"home": self.task.home}
            )
        return OldMarkFormSet(self.request.POST, prefix="old", form_kwargs={"home": self.task.home})

    def asked_olds(self) -> Any:
        return OldMarkFormSet(prefix="old", initial=self.typed_olds(), form_kwargs={"home": self.task.home})

    def same_olds(self, olds: Any) -> bool:
        """Whether the old marks that were answered are those of the newest report."""
        return not olds.is_valid() or [row.cleaned_data.get("answers") for row in olds] == [one.pk for one in self.old]

    def typed_marks(self, tap: re.Match[str] | None, board: Board) -> list[dict[str, Any]]:
        """The rows as typed and one empty one; a tap puts the pin into the first row without a word."""
        posted = self.request.POST
        total = min(int(posted["mark-TOTAL_FORMS"]), 40) if posted.get("mark-TOTAL_FORMS", "").isdigit() else 0
        rows = [{name: posted.get(f"mark-{n}-{name}", "") for name in MarkForm.base_fields} for n in range(total)]
        rows = [row for row in rows if any(row[name] for name in ("zone", "word", "size_mm", "across", "down"))]
        given = self.request.GET
        if self.request.method == "GET" and given.get("across") and given.get("down"):
            rows.append({"where": board.key, "across": given["across"], "down": given["down"]})
            self.here = 0
        if tap is not None:
            self.here = next((n for n, row in enumerate(rows) if not row["word"]), len(rows))
            if self.here == len(rows):
                rows.append({})
            rows[self.here] |= self._pin(tap, board)
            rows[self.here]["zone"] = rows[self.here].get("zone") or self._zone(rows[self.here], board)
        empty = {"where": board.key}
        return rows if rows and tap is not None else [*rows, empty]

    def _pin(self, tap: re.Match[str], board: Board) -> dict[str, str]:
        width = int(tap[1]) or 1
        x, y = (self.request.POST.get(f"tap{tap[1]}.{axis}", "") for axis in "xy")
        across = Decimal(x if x.isdigit() else 0) * 100 / width
        down = Decimal(y if y.isdigit() else 0) * 100 / max(1, width * board.height // 1000)
        return {"where": board.key, "across": f"{across:.1f}", "down": f"{down:.1f}"}

    def _zone(self, row: Mapping[str, Any], board: Board) -> str:
        if board.key not in ConditionMark.Outline.values:
            return ""
        side = proper_side(self.task.piece.kind, board.key, int(Decimal(row["across"]) * 10))
        return f"{board.key}, wearer's {side}" if side else board.key

    def typed_olds(self) -> list[dict[str, Any]]:
        posted = self.request.POST
        names = ("state", "note", "cause", "happened_on", "happened_with")
        return [
            {"answers": mark.pk, **{name: posted.get(f"old-{n}-{name}", "") for name in names}}
            for n, mark in enumerate(self.old)
        ]

    def seen(self, marks: Any, olds: Any, files: dict[str, File]) -> list[MarkSeen]:
        """Every mark of the report: the old ones with their answers, then the new ones."""
        answered = [row.seen(mark) for mark, row in zip(self.old, olds.forms, strict=True)]
        return answered + [seen for row in marks.forms if (seen := row.seen(files))]


def _keep(task: Task, user: Any, form: ReportForm, rows: _Rows, sets: tuple[Any, Any]) -> None:
    files = {key: board.file for key, board in rows.boards.items() if board.file is not None}
    seen = rows.seen(*sets, files)
    pictures = form.picture_seen(picture_bytes(form, user))
    task.keep(marks=seen, pictures=pictures, **form.facts())


def _boards(request: HttpRequest, piece: Piece, kept: str) -> list[Board]:
    """The picture just sent, the piece's pictures, and the outline of its kind from the front and from the back."""
    found = []
    file = File.objects.filter(sha256=kept, stored_by=signed_in(request)).first() if kept else None
    if file is not None:
        with file.large.open("rb") as stored:
            data = base64.b64encode(stored.read()).decode()
        found.append(Board(_TAKEN, "the new picture", height_of(file), src=f"data:image/jpeg;base64,{data}", file=file))
    found += [board_of(row) for row in pictures_for(piece, request.user)]
    return [*found, *outlines_of(piece)]


def _chosen(request: HttpRequest, boards: Sequence[Board]) -> Board:
    """The one asked for, else the first: what was just sent, the main picture, or the outline."""
    picture = request.GET.get("picture", "")
    if picture.isdigit():
        picture = f"p{picture}"
    asked = request.POST.get("show") or request.POST.get("board") or picture
    if request.FILES.get("picture"):
        asked = _TAKEN
    return next((board for board in boards if board.key == asked), boards[0])


def _pins(board: Board, old: Sequence[ConditionMark], marks: Any) -> list[dict[str, Any]]:
    """Where the numbered pins of the shown picture stand, in thousandths of its width."""
    pins = []
    for n, mark in enumerate(old, 1):
        if pin := board.pin_of(mark):
            pins.append({"n": n, **pin, "old": True})
    for n, row in enumerate(marks.forms, len(old) + 1):
        across, down = (_number(row[name].value()) for name in ("across", "down"))
        if row["where"].value() == board.key and across is not None and down is not None:
            pins.append({"n": n, "x": int(across * 10), "y": int(down * board.height / 100), "old": False})
    return pins


def _number(typed: Any) -> Decimal | None:
    try:
        number = Decimal(str(typed))
    except ArithmeticError:
        return None
    return number if 0 <= number <= 100 else None


def _as_typed(request: HttpRequest) -> dict[str, Any]:
    return {name: request.POST.get(name, "") for name in ReportForm.base_fields if name != "picture"}


def _first(task: Task) -> dict[str, Any]:
    """What the page starts with. Grade, stability and completeness are asked anew: somebody has to look."""
    look = task.last.look if task.last and task.last.look else task.piece.look
    return {"missing": task.last.missing if task.last else "", "look": look, "occasion": task.occasion}


def _errors(rows: Any, what: str, after: int = 0) -> list[dict[str, str]]:
    """The faults of rows, as links to their fields."""
    if not rows.is_bound:
        return []
    return [
        {"url": f"#{row[name].id_for_label}", "text": f"{what} {count}. {named(text, str(row[name].label))}"}
        for count, row in enumerate(rows.forms, after + 1)
        for name, texts in row.errors.items()
        if name in row.fields
        for text in texts
    ]
