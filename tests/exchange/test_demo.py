"""The demo, loaded through the import that an archive uses for its own tables."""

from collections import Counter

from catalog.pieces.models import Piece
from catalog.storage.models import Standing
from tests.demo_world import DemoWorld


def test_every_piece_stands_where_the_tables_say(demo_world: DemoWorld) -> None:
    assert Piece.objects.count() == 263
    assert Counter(Standing.objects.values_list("state", flat=True)) == {"in store": 252, "not found": 7, "out": 4}
