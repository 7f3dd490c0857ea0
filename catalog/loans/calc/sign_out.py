"""Whether a piece may be given to a performer now. Pure; the state of wear in, one sentence out."""

from catalog.care.calc.wear import NO_MATERIALS, UNDECIDED, Wear, WearState

# What nobody puts on need not be decided for wear; what reaches the hand is as bad for it.
_ABOUT_WEAR_ALONE = {UNDECIDED, NO_MATERIALS}


def against_sign_out(number: str, state: WearState, *, worn: bool) -> str:
    """Why the piece stays in, in one sentence; empty when it may go out.

    Nobody at the set can lift it: only another decision about wear, a test or a repair changes the answer.
    `worn`: the piece is of a kind that is put on.
    """
    why = [one for one in state.why if worn or one not in _ABOUT_WEAR_ALONE]
    if state.wear is Wear.REPAIR and worn and state.decision is not None:
        why = [f"It is worn after repair ({state.decision.repair}): decide anew once that is done."]
    if not why:
        return ""
    return f"{number} stays in and is not signed out. {' '.join(why)}"
