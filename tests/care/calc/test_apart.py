"""What keeps a piece where it is: the words, the day due, and the sentence that refuses."""

from datetime import date

import pytest

from catalog.care.calc.apart import KeptApart, PestWork, names_pest_work, pest_refusal

BEGUN = date(2026, 11, 20)  # a Friday
FREEZE = PestWork("freeze, 14 days", BEGUN, 14)


# The methods are those of museums' pest handbooks (freezing, low oxygen, nitrogen, carbon dioxide, fumigation), named
# here from memory; "moth holes darned" is mending.
@pytest.mark.parametrize(
    ("what", "is_pest"),
    [
        ("Freeze for two weeks at -30", True),
        ("put into the freezer", True),
        ("Deep-cold treatment", True),
        ("anoxia bag with absorber", True),
        ("low-oxygen tent", True),
        ("nitrogen chamber", True),
        ("carbon dioxide bubble", True),
        ("fumigation", True),
        ("against moth", True),
        ("PEST check and bagging", True),
        ("moth holes darned", False),
        ("mended against tearing", False),
        ("new band", False),
        ("pestle of the apothecary glued", False),
        ("", False),
    ],
)
def test_words_that_name_pest_work(what: str, is_pest: bool) -> None:
    assert names_pest_work(what) is is_pest


@pytest.mark.parametrize(
    ("work", "due"),
    [
        (FREEZE, date(2026, 12, 4)),
        (PestWork("freeze", BEGUN, 2, "working"), date(2026, 11, 24)),
        (PestWork("freeze", BEGUN, 0), BEGUN),
        (PestWork("freeze", BEGUN, None), None),
        (PestWork("freeze", None, 14), None),
    ],
)
def test_the_day_due_is_known_only_once_it_has_begun(work: PestWork, due: date | None) -> None:
    assert work.due == due


@pytest.mark.parametrize(
    ("kept", "said"),
    [
        (KeptApart(), ""),
        (
            KeptApart((FREEZE,)),
            "M-1 may not be pulled: the pest work “freeze, 14 days” is under way, due 4 Dec 2026. "
            "Finish that work or call it off first.",
        ),
        (
            KeptApart((PestWork("freeze"),)),
            "M-1 may not be pulled: the pest work “freeze” is ordered and has not begun. "
            "Finish that work or call it off first.",
        ),
        (
            KeptApart((PestWork("freeze", BEGUN), PestWork("fumigation")), BEGUN),
            "M-1 may not be pulled: the pest work “freeze” is under way, and nobody has said until when and the pest "
            "work “fumigation” is ordered and has not begun. Finish each or call it off first.",
        ),
        (
            KeptApart((), date(2026, 12, 4), "moth seen"),
            "M-1 may not be pulled: it is in quarantine until 4 Dec 2026 (moth seen). Check it and release it first.",
        ),
    ],
)
def test_the_refusal_names_what_is_open_and_what_to_do(kept: KeptApart, said: str) -> None:
    assert kept.refusal("M-1", "pulled") == said
    assert kept.is_kept is bool(said)


def test_a_release_is_refused_by_work_alone() -> None:
    assert pest_refusal("M-1", (), "released from quarantine") == ""
    assert "may not be released from quarantine" in pest_refusal("M-1", (FREEZE,), "released from quarantine")
