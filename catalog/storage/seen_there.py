"""What a scan made while something is looked for means: the next place, the thing itself, a part of its list, or a
label that leads nowhere and may be the thing's own, misread. Nothing is written: each answer leads to a page.
"""

from dataclasses import dataclass
from urllib.parse import urlencode

from django.urls import reverse

from catalog.access.models import User
from catalog.pieces.models import Piece
from catalog.storage import queries, readings, tree
from catalog.storage.calc.misread import likely_readings
from catalog.storage.models import MissingFile, Place, State
from catalog.storage.readings import Reading


@dataclass(frozen=True, slots=True)
class SeenThere:
    """What the scan was. `go` is a page to open at once; `link` one that is offered with its words."""

    sentence: str = ""
    go: str = ""
    link: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True)
class TurnedUp:
    """What was scanned in a container: pieces of its list, and what the last scan was if it was none of them."""

    pieces: tuple[Piece, ...]
    problem: str = ""


def seen_there(file: MissingFile, at: Place | None, text: str, by: User) -> SeenThere:
    """What was scanned at `at` during the search of this file."""
    reading, box = readings.read(text, by), file.container
    if reading.thing is not None and reading.thing in (file.piece, box):
        return SeenThere(go=_found_page(reading.thing, at))
    if reading.piece is not None:
        return _another_piece(reading.piece, box, at)
    if reading.place is not None:
        if box is None or not reading.place.is_container:
            return _to_place(file, reading.place)
        return _another_box(reading.place, box, at)
    return _unread(reading, file, at)


def turned_up(box: Place, lost: list[Piece], texts: list[str], last: str, by: User) -> TurnedUp:
    """The pieces of the list that these scans are, and why the last scan is none of them."""
    on_list = {piece.pk: piece for piece in lost}
    found = {}
    problem = ""
    for text in [*texts, last] if last else texts:
        reading = readings.read(text, by)
        if reading.piece is not None and reading.piece.pk in on_list:
            found[reading.piece.pk] = on_list[reading.piece.pk]
        elif text is last:
            problem = reading.problem or f"{reading.thing or reading.text} is not on {box}'s list.{_where(reading)}"
    return TurnedUp(tuple(found.values()), problem)


def codes_of(lost: list[Piece]) -> dict[str, int]:
    """What a scan of a piece reads, its number or a label of it, and which it is. One query."""
    numbers = {piece.number.upper(): piece.pk for piece in lost}
    return numbers | dict(queries.label_codes(lost))


def _to_place(file: MissingFile, place: Place) -> SeenThere:
    page = reverse("storage:missing_file", args=[file.pk])
    return SeenThere(go=f"{page}?{urlencode({'place': place.code})}")


def _found_page(thing: Piece | Place, at: Place | None, **more: str) -> str:
    name = "storage:mark_piece_found" if isinstance(thing, Piece) else "storage:mark_container_found"
    query = ({"at": at.code} if at is not None else {}) | more
    return f"{reverse(name, args=[readings.name_of(thing)])}?{urlencode(query)}"


def _another_piece(piece: Piece, box: Place | None, at: Place | None) -> SeenThere:
    standing = getattr(piece, "standing", None)
    if box is not None and standing is not None and standing.place_id in tree.ids_under(box):
        return SeenThere(go=_found_page(box, at, seen=piece.number))
    if standing is not None and standing.state == State.NOT_FOUND:
        return SeenThere(f"{piece.number} is missing too.", link=_found_page(piece, at), words="It was found here")
    where = f" By the record it is at {standing.place}." if standing is not None and standing.place else ""
    return SeenThere(f"{piece.number} is not what is looked for.{where}")


def _another_box(other: Place, box: Place, at: Place | None) -> SeenThere:
    """A label can be on the wrong trunk: what is in it tells."""
    if other.state == State.NOT_FOUND:
        return SeenThere(f"{other} is missing too.", link=_found_page(other, at), words="It was found here")
    where = f", by the record at {other.parent}" if other.parent is not None else ""
    return SeenThere(
        f"{other} is another {other.get_kind_display()}{where}. If it stands where it should not, open it.",
        link=_found_page(box, at, reads=other.code),
        words=f"Compare what is in it with {box}'s list",
    )


def _unread(reading: Reading, file: MissingFile, at: Place | None) -> SeenThere:
    if reading.found is not None:
        page = reverse("storage:found_thing", args=[reading.found.number])
        return SeenThere(f"{reading.found} is a found thing.", link=page, words="Compare it with what is missing")
    if reading.blank is not None:
        return SeenThere(f"{reading.text} is a blank that is on nothing yet.")
    if file.container is None or not reading.text:
        near = ", ".join(readings.name_of(thing) for thing in reading.suggestions)
        said = f"{reading.problem} Did you mean {near}?" if near else reading.problem
        page = reverse("storage:add_found") + (f"?{urlencode({'place': at.code})}" if at is not None else "")
        return SeenThere(said, link=page if reading.text else "", words="Take it in as found without a label")
    box = file.container
    misread = reading.text.upper() in likely_readings(box.code)
    may = f" {box} may have been misread so." if misread else ""
    return SeenThere(
        f"{reading.problem}{may} If a {box.get_kind_display()} reads so, open it.",
        link=_found_page(box, at, reads=reading.text),
        words=f"Compare what is in it with {box}'s list",
    )


def _where(reading: Reading) -> str:
    standing = getattr(reading.piece, "standing", None)
    return f" By the record it is at {standing.place}." if standing is not None and standing.place else ""
