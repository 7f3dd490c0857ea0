"""The checker finds each kind of fault, and imports nothing of the packer."""

import ast
from pathlib import Path

import pytest

from catalog.shipping.calc import pack_check
from catalog.shipping.calc.pack_check import faults
from catalog.shipping.calc.pack_problem import Filled, Left, Packing, PackRules, Problem, Spec, Thing

BOX = Spec("box", (1000, 500, 500), 5_000, 25_000, count=2)
RULES = PackRules(fill_percent=80, heavy_top_g=5_000, apart=frozenset({("rubber", "foam")}))
SOFT = Thing("soft", 4_000, (500, 400, 300))
MORE = Thing("more", 4_000, (500, 400, 300))
HELMET = Thing("helmet", 4_000, (400, 400, 450), on_top=True)


def wrong(inside: tuple[Thing, ...], *crates: Filled, **named: tuple[Left, ...]) -> str:
    return " ".join(faults(Problem(inside, (BOX,), RULES), Packing(crates, **named)))


def one(*inside: Thing) -> str:
    return wrong(inside, Filled("box", tuple(thing.number for thing in inside)))


def test_a_right_packing_has_no_fault() -> None:
    assert one(SOFT, MORE) == ""
    assert one(SOFT, HELMET) == ""


@pytest.mark.parametrize(
    ("inside", "said"),
    [
        ((Thing("a", 12_000, (100,) * 3), Thing("b", 9_000, (100,) * 3)), "weighs 26000 g and may weigh 25000"),
        ((Thing("pole", 900, (2400, 40, 40)),), "pole does not go into it"),
        ((Thing("tall", 900, (100, 100, 600), on_top=True),), "tall does not go into it"),
        (tuple(Thing(n, 900, (500, 420, 260)) for n in "abcd"), "fuller than it may be"),
        (tuple(Thing(n, 900, (400, 400, 300), on_top=True) for n in "abc"), "needs more floor"),
        ((Thing("a", 900, (600, 300, 300)), Thing("b", 900, (510, 300, 300))), "a and b do not fit beside each other"),
        ((Thing("a", 900, (100,) * 3, alone=True), SOFT), "a must stand alone"),
        (
            (
                Thing("a", 9, (9,) * 3, groups=frozenset({"rubber"})),
                Thing("b", 9, (9,) * 3, groups=frozenset({"foam"})),
            ),
            "a (rubber) lies beside b (foam)",
        ),
        ((Thing("a", None, (9,) * 3),), "a: weight or size is not known"),
    ],
)
def test_each_fault_is_named(inside: tuple[Thing, ...], said: str) -> None:
    assert said in one(*inside)


def test_a_heavy_helmet_stands_on_the_floor() -> None:
    """150 litres of soft things lie under a light helmet of 10 cm; a heavy one needs them beside it: 144 are left."""
    soft = tuple(Thing(n, 500, (500, 500, 200)) for n in "abc")
    light = Thing("light", 4_900, (400, 280, 90), on_top=True)
    heavy = Thing("heavy", 5_100, (400, 280, 90), on_top=True)
    assert one(*soft, light) == ""
    assert "fuller than it may be" in one(*soft, heavy)


def test_what_is_lost_or_told_twice_is_found() -> None:
    assert "soft is neither packed nor named" in wrong((SOFT,))
    assert "soft is on the list 2 times" in wrong((SOFT,), Filled("box", ("soft",)), Filled("box", ("soft",)))
    assert "ghost is not among" in wrong((SOFT,), Filled("box", ("soft", "ghost")))
    assert "3 crates box are used and only 2" in wrong((SOFT,), *[Filled("box", ("soft",))] * 3)
    assert "no kind of crate bag" in wrong((SOFT,), Filled("bag", ("soft",)))
    assert "nothing lies in it" in wrong((SOFT,), Filled("box", ()), asked=(Left("soft", "its weight"),))


def test_it_shares_no_code_with_the_packer() -> None:
    tree = ast.parse(Path(pack_check.__file__).read_text(encoding="utf-8"))
    ours = {
        node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) and "catalog" in (node.module or "")
    }
    assert ours == {"catalog.shipping.calc.pack_problem"}
