"""What stands against holding a piece. The rule is the archive's own: common practice, no source."""

from datetime import date

import pytest

from catalog.loans.calc.holdable import Candidate, notes, objection, refusal

LOST = Candidate("M-1", missing=True, last_seen=date(2031, 5, 3))
NEVER_SEEN = Candidate("M-1", missing=True)
REFERENCE = Candidate("M-1", decision="reference only", wear_why=("It was decided to keep it for reference only.",))
NOT_WEARABLE = Candidate("M-1", decision="not wearable", wear_why=("It was decided that it is not wearable.",))
UNDECIDED = Candidate("M-1", wear_why=("Nobody has decided yet whether it may be worn.",))
SOUND = Candidate("M-1", decision="wear")
MENDED_FIRST = Candidate("M-1", decision="wear after repair")


@pytest.mark.parametrize(
    ("candidate", "worn", "sentence"),
    [
        pytest.param(
            LOST, True,
            "M-1 cannot be held firmly: it is missing, last seen 3 May 2031. "
            "Pencil it until it is recorded as found, or hold another piece.",
            id="missing",
        ),
        pytest.param(
            NEVER_SEEN, False,
            "M-1 cannot be held firmly: it is missing, never seen since it was recorded. "
            "Pencil it until it is recorded as found, or hold another piece.",
            id="missing, for a show too",
        ),
        pytest.param(
            REFERENCE, True,
            "M-1 cannot be held firmly: it was decided to keep it for reference only. "
            "Hold another piece; for an exhibition or for study it may be held.",
            id="reference only",
        ),
        pytest.param(
            NOT_WEARABLE, True,
            "M-1 cannot be held firmly: it was decided that it is not wearable. "
            "Hold another piece; for an exhibition or for study it may be held.",
            id="not wearable",
        ),
        pytest.param(REFERENCE, False, None, id="a reference piece may be shown"),
        pytest.param(NOT_WEARABLE, False, None, id="what is not wearable may be shown"),
        pytest.param(UNDECIDED, True, None, id="undecided is told, not refused"),
        pytest.param(SOUND, True, None, id="sound"),
        pytest.param(MENDED_FIRST, True, None, id="after its repair"),
    ],
)  # fmt: skip
def test_what_a_firm_hold_refuses(candidate: Candidate, worn: bool, sentence: str | None) -> None:
    found = objection(candidate, worn=worn)
    assert (found.sentence if found else None) == sentence


@pytest.mark.parametrize(
    ("candidate", "worn", "said"),
    [
        (LOST, True, ("M-1 is missing, last seen 3 May 2031. It cannot be pulled before it is found.",)),
        (UNDECIDED, True, ("M-1 may not be worn as things stand. Nobody has decided yet whether it may be worn.",)),
        (UNDECIDED, False, ()),
        (REFERENCE, True, ("M-1 may not be worn as things stand. It was decided to keep it for reference only.",)),
        (REFERENCE, False, ("M-1 is to be shown or studied, not worn: it was decided to keep it for reference only.",)),
        (SOUND, True, ()),
    ],
)
def test_what_is_said_of_a_piece_in_a_hold(candidate: Candidate, worn: bool, said: tuple[str, ...]) -> None:
    assert notes(candidate, worn=worn) == said


def test_many_refusals_are_told_in_a_few_sentences() -> None:
    found = [objection(Candidate(f"M-{n}", missing=True), worn=True) for n in range(1, 16)]
    told = refusal([one for one in found if one], [f"F-{n}" for n in range(1, 7)])
    assert told.count("cannot be held firmly") == 3
    assert "against M-4, M-5, M-6, M-7, M-8, M-9, M-10, M-11 and 4 more." in told
    assert told.endswith("Free on these days instead: F-1, F-2, F-3, F-4 and 2 more.")
    assert "instead:" not in refusal([one for one in found[:1] if one])
