"""Counting the pieces of a call: each once, where it is now."""

import pytest

from catalog.loans.calc.progress import Line, Progress, progress_of


@pytest.mark.parametrize(
    ("firm", "pencilled", "lines", "expected"),
    [
        pytest.param(set(), set(), [], Progress(), id="nothing"),
        pytest.param({1, 2}, {2, 3}, [], Progress(pencilled=1, held=2), id="a firm hold stands for its pencil"),
        pytest.param(
            {1, 2, 3}, set(), [Line(1, "to pull"), Line(2, "pulled")], Progress(held=2, listed=1, pulled=1),
            id="on the list and pulled",
        ),
        pytest.param(
            {1, 2, 3}, set(), [Line(1, "out"), Line(2, "on set"), Line(3, "left behind")], Progress(held=1, out=2),
            id="what was left behind is held",
        ),
        pytest.param(
            {1, 2}, set(), [Line(1, "out"), Line(2, "left behind"), Line(2, "pulled")], Progress(out=1, pulled=1),
            id="left by the first truck, pulled for the second",
        ),
        pytest.param(
            {1, 2, 3, 4}, set(),
            [Line(1, "back"), Line(2, "quarantined"), Line(3, "put away"), Line(4, "not back")],
            Progress(home=3, not_back=1), id="home",
        ),
        pytest.param({1}, set(), [Line(1, "put away", closed=True)], Progress(held=1), id="home, and held once more"),
        pytest.param(set(), set(), [Line(1, "put away", closed=True)], Progress(home=1), id="home for good"),
    ],
)  # fmt: skip
def test_each_piece_counts_once(firm: set[int], pencilled: set[int], lines: list[Line], expected: Progress) -> None:
    assert progress_of(firm, pencilled, lines) == expected


@pytest.mark.parametrize(
    ("progress", "sentence"),
    [
        (Progress(), ""),
        (Progress(held=1), "1 piece is held."),
        (Progress(pencilled=4), "4 pieces are pencilled."),
        (Progress(held=40, pulled=12, out=60), "60 pieces are out, 12 are pulled and 40 are held."),
        (Progress(home=1, out=2, not_back=1), "2 pieces are out, 1 is home and 1 did not come back."),
    ],
)
def test_the_counts_in_one_sentence(progress: Progress, sentence: str) -> None:
    assert progress.sentence == sentence


def test_what_is_left_for_a_further_loan() -> None:
    assert Progress(held=5, listed=2).left == 3
    assert not Progress(held=5).under_way
    assert Progress(not_back=1).under_way
