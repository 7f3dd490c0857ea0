"""Free room is said only as far as it is known."""

from catalog.storage.calc.free_room import by_count, by_hanging, by_shelf


def test_each_measure() -> None:
    assert (by_count(6, 4).free, by_count(6, 8).is_over) == (2, True)
    rail = by_hanging(2400, 12, 80)
    assert (rail.free, rail.is_over, rail.assumed_mm) == (1440, False, 80)
    assert by_hanging(2400, 31, 80).is_over
    shelf = by_shelf(900, [300, 400])
    assert (shelf.free, shelf.is_sure) == (200, True)


def test_what_was_not_measured_is_counted_and_never_zero() -> None:
    shelf = by_shelf(900, [300, None, None])
    assert (shelf.free, shelf.unknown, shelf.is_sure) == (600, 2, False)
    assert by_shelf(900, []).free == 900
