"""Labels: serials run on, blanks are bound once, an old label still leads to its thing."""

import pytest

from catalog.core.codes import make_code, read_code
from catalog.core.errors import Refused, WrongState
from catalog.core.history import lines_of
from catalog.storage import actions, queries
from catalog.storage.labels import SHEETS, on_sheets, print_of
from catalog.storage.models import Label
from catalog.storage.readings import read
from tests.storage.world import Store


def piece_of(store: Store, number: str = "M-0001"):
    return store.production.pieces.get(number=number)


def test_a_label_is_issued_once(store: Store) -> None:
    piece = piece_of(store)
    label = actions.issue_label(by=store.cast.archivist, piece=piece)
    assert label.code == make_code("P", 1)
    assert actions.issue_label(by=store.cast.archivist, piece=piece) == label
    assert lines_of(piece.subject)[0].after == {"label": label.code}
    trunk = actions.issue_label(by=store.cast.archivist, place=store["BOX1"])
    shelf = actions.issue_label(by=store.cast.archivist, place=store["MAIN-2-1"])
    assert (trunk.letter, trunk.serial, shelf.letter, shelf.serial) == ("C", 1, "L", 1)
    assert actions.issue_label(by=store.cast.archivist, piece=piece_of(store, "M-0002")).serial == 2
    with pytest.raises(TypeError):
        actions.issue_label(by=store.cast.archivist)


def test_a_replaced_label_still_leads_to_its_thing(store: Store) -> None:
    piece = piece_of(store)
    old = actions.issue_label(by=store.cast.archivist, piece=piece)
    new = actions.replace_label(by=store.cast.archivist, piece=piece, reason="worn")
    assert new.code != old.code
    assert queries.label_of(piece=piece) == new
    assert queries.label_target(old.code).piece == piece
    assert lines_of(piece.subject)[0].before == {"label": old.code}


def test_a_blank_is_bound_once(store: Store) -> None:
    first, second = actions.make_blanks(by=store.cast.archivist, count=2)
    piece, other = piece_of(store), piece_of(store, "M-0002")
    old = actions.issue_label(by=store.cast.archivist, piece=piece)
    bound = actions.bind_label(
        by=store.cast.archivist, code=f"https://anywhere.example/q/{first.code.lower()}/", piece=piece
    )
    assert bound.piece == piece
    assert Label.objects.get(pk=old.pk).retired_at is not None
    assert actions.bind_label(by=store.cast.archivist, code=first.code, piece=piece) == bound
    with pytest.raises(WrongState, match="is on M-0001 already"):
        actions.bind_label(by=store.cast.archivist, code=first.code, piece=other)
    with pytest.raises(Refused, match="never printed here"):
        actions.bind_label(by=store.cast.archivist, code=make_code("B", 77), piece=other)
    with pytest.raises(Refused, match="wrong check character"):
        actions.bind_label(
            by=store.cast.archivist,
            code=second.code[:-1] + "#".replace("#", "0" if second.code[-1] != "0" else "1"),
            piece=other,
        )
    with pytest.raises(Refused, match="Print between 1 and 500"):
        actions.make_blanks(by=store.cast.archivist, count=0)


@pytest.mark.parametrize("start", [1, 2, 21])
def test_a_begun_sheet_is_used_from_its_first_free_label(store: Store, start: int) -> None:
    blanks = actions.make_blanks(by=store.cast.archivist, count=25)
    sheets = on_sheets(blanks, SHEETS["a4-21"], start)
    flat = [one for sheet in sheets for one in sheet]
    assert flat[: start - 1] == [None] * (start - 1)
    assert [one.code for one in flat[start - 1 :]] == [blank.code for blank in blanks]
    assert all(len(sheet) <= 21 for sheet in sheets)


def test_what_stands_on_a_label(store: Store) -> None:
    label = actions.issue_label(by=store.cast.archivist, place=store["BOX1"])
    one = print_of(label)
    assert (one.number, one.name) == ("BOX1", "trunk 1")
    assert read_code(one.stem + one.check) == label.code


# --- what a scanned or typed text means ------------------------------------------------------------------------------
@pytest.mark.parametrize(
    "typed", ["{code}", " {code} ", "{lower}", "HTTPS://HOST/Q/{code}", "https://host/q/{lower}/", "{stem}-{check}"]
)
def test_a_label_is_read_however_it_is_scanned(store: Store, typed: str) -> None:
    code = actions.issue_label(by=store.cast.archivist, piece=piece_of(store)).code
    text = typed.format(code=code, lower=code.lower(), stem=code[:-1], check=code[-1])
    assert read(text, store.cast.archivist).piece == piece_of(store)


@pytest.mark.parametrize(("typed", "number"), [("m-0001", "M-0001"), ("BOX1", "BOX1"), ("main-2-1", "MAIN-2-1")])
def test_a_number_or_a_code_is_read_in_any_case(store: Store, typed: str, number: str) -> None:
    assert str(read(typed, store.cast.archivist).thing) == number


def test_a_wrong_check_character_and_swapped_digits_are_told_with_a_suggestion(store: Store) -> None:
    for _ in range(12):
        label = actions.replace_label(by=store.cast.archivist, piece=piece_of(store))
    assert label.code.startswith("P00012")
    swapped = "P00021" + label.code[-1]
    found = read(swapped, store.cast.archivist)
    assert found.thing is None
    assert "wrong check character" in found.problem
    assert found.suggestions == (piece_of(store),)


@pytest.mark.parametrize(
    ("typed", "near"),
    [("M-0010", ["M-0001"]), ("0003", ["M-0003"]), ("B0X1", ["BOX1"]), ("BOX7", ["BOX1", "BOX2"]), ("zebra", [])],
)
def test_an_unknown_code_is_told_with_what_is_near(store: Store, typed: str, near: list[str]) -> None:
    found = read(typed, store.cast.archivist)
    assert f"called “{typed}”" in found.problem
    assert [str(thing) for thing in found.suggestions] == near


def test_a_sound_code_that_is_on_nothing_is_told(store: Store) -> None:
    assert "on no label of this store" in read(make_code("P", 999), store.cast.archivist).problem
    blank = actions.make_blanks(by=store.cast.archivist, count=1)[0]
    assert read(blank.code, store.cast.archivist).blank == blank
    assert "Nothing was scanned" in read("  ", store.cast.archivist).problem


def test_a_visitor_learns_nothing_of_a_closed_production(store: Store) -> None:
    label = actions.issue_label(by=store.cast.archivist, piece=piece_of(store))
    store.production.closed = True
    store.production.save()
    for typed in (label.code, "M-0001", "M-0010"):
        found = read(typed, store.cast.visitor)
        assert found.thing is None
        assert found.suggestions == ()
    assert read(label.code, store.cast.visitor).problem == f"{label.code} is on no label of this store."
    assert read(label.code, store.cast.set_costumer).piece == piece_of(store)
