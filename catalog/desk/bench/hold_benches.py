"""Holds: many clients race for the same pieces, and clashes are told over many held days; SQLite and PostgreSQL."""

from collections.abc import Callable, Mapping
from typing import Any

from catalog.desk.bench.measuring import BenchError, Measurement
from catalog.desk.bench.two_databases import SQLITE, on_both

RUN = "catalog.desk.bench.hold_run"
CLIENTS, ROUNDS = 64, 1000
HELD_DAYS, TURNS = 50_000, 7
MOST_TIMES_BARE = 3.0


def hold_race() -> Measurement:
    """Share of rounds with exactly one winner, the worse database of the two; every loser told who won.

    Takes ten to thirty minutes: 64,000 holds are tried on each database.
    """
    found, why_not = on_both(RUN, ["race", str(CLIENTS), str(ROUNDS)])
    said, shares, plain, ok = [], [], [], True
    for name, told in found.items():
        ours, naive = told["ours"], told["naive"]
        if ours["errors"]:
            raise BenchError(f"{name}: a hold failed: {ours['errors'][0]}")
        share, naive_share = ours["one_winner"] / ours["rounds"], naive["one_winner"] / naive["rounds"]
        losers = ours["rounds"] * (CLIENTS - 1)
        ok &= share == 1 and ours["whole"] == ours["rounds"] and ours["told"] == losers == ours["losers"]
        # A guard that nothing could have beaten proves nothing: the plain way must be seen failing.
        ok &= naive_share < 1
        shares.append(share)
        plain.append(naive_share)
        said.append(
            f"{name}: {ours['told']:,} of {losers:,} losers told in {ours['seconds']:.0f} s; check-then-insert: "
            f"one winner in {naive['one_winner']} of {naive['rounds']} rounds, up to {naive['most_winners']}"
        )
    value, baseline = min(shares), max(plain)
    ratio = round(value / max(baseline, 1 / ROUNDS), 2)
    words = "; ".join(said) + not_tried(why_not)
    return Measurement("hold_race", value, "of rounds", words, round(baseline, 3), ratio, f"1 {where(found)}", ok)


def clash_check() -> Measurement:
    """A clash told over 50,000 held days against the bare SQL of the same question; the worse database stands."""
    found, why_not = on_both(RUN, ["clash", str(HELD_DAYS), str(TURNS)])
    ratios = {name: told["ours_ms"] / told["bare_ms"] for name, told in found.items()}
    worst = max(ratios, key=lambda name: ratios[name])
    told = found[worst]
    each = ", ".join(f"{name} {ratio:.2f} times" for name, ratio in ratios.items())
    words = (
        f"bare SQL of the same question, {told['days']:,} held days, {told['questions']} questions, "
        f"{told['clashes']:,} clashes; {each}{not_tried(why_not)}"
    )
    ratio = ratios[worst]
    return Measurement(
        "clash_check",
        round(told["ours_ms"], 3),
        "ms",
        words,
        round(told["bare_ms"], 3),
        round(ratio, 2),
        f"at most {MOST_TIMES_BARE:g} {where(found)}",
        ratio <= MOST_TIMES_BARE,
    )


def where(found: Mapping[str, Any]) -> str:
    """On which databases the goal was judged."""
    return f"on {' and '.join(found)}" if len(found) > 1 else f"on {SQLITE} alone"


def not_tried(why_not: str) -> str:
    """That PostgreSQL was not tried, and why; nothing when it was."""
    return f"; PostgreSQL not tried: {why_not}" if why_not else ""


HOLD_BENCHES: Mapping[str, Callable[[], Measurement]] = {"hold_race": hold_race, "clash_check": clash_check}
