"""Drawings of fit and plan: they say what the rows say, in words and shapes, whatever the colours."""

from catalog.fitting import actions
from catalog.fitting.calc.against import PointRow, Stand
from catalog.fitting.picture_queries import GridCell, GridRow, plan_grids
from catalog.fitting.plan_queries import dressed_of
from catalog.fitting.queries import dry_run
from catalog.templatetags.wrapkeep_fit import body_against, body_words, plan_grid, takes_words
from tests.demo_world import DemoWorld

OPEN = PointRow("chest", 980, 1060, 1032, 982, 1085, False, Stand.OPEN)
TAPED = PointRow("chest", 980, 1060, 1100, 1100, 1100, True, Stand.OUTSIDE)
UNKNOWN = PointRow("weight", None, 90_000, None, None, None, False, Stand.UNKNOWN)


def test_words_of_a_row() -> None:
    assert takes_words(OPEN, "cm") == "98.0 cm to 106.0 cm"
    assert body_words(OPEN, "cm") == "about 103.2 cm, for four in five 98.2 cm to 108.5 cm"
    assert body_words(TAPED, "in") == "43.3 in, taped"
    assert takes_words(UNKNOWN, "cm") == "up to 90.0 kg"
    assert body_words(UNKNOWN, "cm") == "not known"
    assert takes_words(PointRow("hip", 5, None, None, None, None, False, Stand.UNKNOWN), "cm") == "0.5 cm or more"
    assert takes_words(PointRow("hip", 900, 800, None, None, None, False, Stand.UNKNOWN), "cm") == "nobody"


def test_a_bar_a_mark_and_what_lies_outside() -> None:
    drawn = body_against({}, [OPEN, TAPED, UNKNOWN])["rows"]  # type: ignore[arg-type]
    first, second, third = drawn
    left, right = first["left"], first["left"] + first["bar_width"]
    assert left < first["mark"] < right
    assert first["whisker"][0] > left
    assert [(round(part["x"], 1), part["width"] > 0) for part in first["outside"]] == [(round(right, 1), True)]
    assert second["mark"] > second["left"] + second["bar_width"]
    assert second["whisker"] is None
    assert third["mark"] is None
    assert third["open_left"]
    assert not third["outside"]


def test_a_whole_row_is_one_original_set() -> None:
    own = GridCell("a", "DIV-05"), GridCell("b", "DIV-05")
    assert GridRow("E1", own).whole
    assert not GridRow("E1", (own[0], GridCell("c", "DIV-06"))).whole
    assert not GridRow("E1", (own[0], GridCell(None))).whole
    assert not GridRow("E1", (own[0], GridCell("r", "DIV-05", original=False))).whole
    assert not GridRow("E1", (GridCell("x"), GridCell("y"))).whole


def test_the_grid_of_the_kept_plan_says_what_the_plan_says(demo_world: DemoWorld) -> None:
    plan = actions.store_plan(by=demo_world.cast.wardrobe_lead, run=dry_run(demo_world.call, with_making=True))
    grids = plan_grids(dressed_of(plan))
    assert sum(len(grid.rows) for grid in grids) == plan.dressed
    assert sum(row.whole for grid in grids for row in grid.rows) == plan.whole_sets
    made = sum(cell is not None and cell.piece is None for g in grids for row in g.rows for cell in row.cells)
    assert made == plan.make_orders.count()
    drawn = plan_grid(grids[0])
    assert len(drawn["rows"]) == len(grids[0].rows)
    assert {cell["mark"] for row in drawn["rows"] for cell in row["cells"] if cell["kind"] == "made"} <= {"new"}
