"""Words for damage by family of material, and zones of a piece; left and right are always the wearer's.

Terms of conservators' and registrars' public condition glossaries for textiles; for the other families partly from
memory. They are offered, never demanded: any word may be typed.
"""

from collections.abc import Iterable, Mapping

from catalog.pieces.calc.kinds import KINDS

ZONES: tuple[str, ...] = (
    "front",
    "back",
    "inside",
    "collar",
    "left shoulder",
    "right shoulder",
    "left armhole",
    "right armhole",
    "left cuff",
    "right cuff",
    "left elbow",
    "right elbow",
    "hem",
    "seat",
    "left knee",
    "right knee",
    "lining",
    "fastening",
    "left sole",
    "right sole",
    "rim",
    "strap",
)

WORDS: Mapping[str, tuple[str, ...]] = {
    "cloth": (
        "abrasion",
        "pilling",
        "tear",
        "cut",
        "hole",
        "fraying",
        "weak seam",
        "open seam",
        "split at fold",
        "crease",
        "shattered silk",
        "fading",
        "bleeding dye",
        "yellowing",
        "stain",
        "tide line",
        "soiling",
        "loose trim",
        "lost trim",
        "insect grazing",
        "mould",
        "shrinkage",
        "stretched",
        "dropped hem",
        "old repair",
        "sweat stain",
        "make-up stain",
        "rust stain",
        "water line",
        "dye that rubs off",
        "something stuck on",
        "frass",
        "webbing",
    ),
    "knit": ("run", "dropped stitch", "felting", "stretched", "insect grazing"),
    "leather": (
        "scuff",
        "cracking",
        "stiff",
        "distorted",
        "red rot",
        "bloom",
        "mould",
        "stretched hole",
        "peeling finish",
        "insect holes",
        "tacky finish",
        "white bloom",
        "flaking finish",
    ),
    "fur": ("shedding", "slipping hair", "split skin", "matted", "moth", "broken quill", "dust", "untested for poison"),
    "metal": (
        "dent",
        "bend",
        "tarnish",
        "rust",
        "green corrosion",
        "plating loss",
        "sharp burr",
        "loose rivet",
        "white powder",
        "pale green powder",
    ),
    "hard plastic": (
        "crack",
        "crazing",
        "chip",
        "warp",
        "yellowing",
        "brittle",
        "delamination",
        "bare fibres",
        "broken tab",
        "acid smell",
        "star crack",
        "sweating",
        "vinegar smell",
    ),
    "foam rubber": (
        "stiff",
        "crumbling",
        "sticky",
        "weeping",
        "bloom",
        "surface crack",
        "tear",
        "collapsed",
        "stuck together",
        "shrinkage",
        "powder",
    ),
    "soft pvc": ("tacky", "oily film", "dirt stuck", "stiff", "dye moved"),
    "finish": ("flaking", "lifting", "blister", "fine cracks", "loss", "scratch", "milky", "rub", "repaint"),
    "wood": ("split", "loose joint", "worm holes", "warp", "broken end"),
    "electric": ("swollen pack", "leak", "corroded contact", "frayed lead", "cable off", "not tested"),
    "paper": ("tear", "soft", "water mark", "loose ribbon"),
    "glass": ("crack", "chip", "clouded", "loose setting"),
    "other": ("tear", "crack", "stain", "loose", "lost"),
}


def words_for(families: Iterable[str]) -> tuple[str, ...]:
    """Damage words for these families, each once; with none known, the words of every family."""
    wanted = [family for family in WORDS if family in set(families)] or list(WORDS)
    return tuple(dict.fromkeys(word for family in wanted for word in WORDS[family]))


# Outlines of one thing with two sides; boots, gloves and props are drawn as they lie.
_TWO_SIDED = frozenset({"coat", "shirt", "knit", "suit", "trousers", "cloak", "stiff", "helmet", "hat"})
# So near the middle line, in thousandths, a pin is on neither side.
_MIDDLE = 60


def proper_side(kind: str, view: str, x_permille: int) -> str:
    """The wearer's "left" or "right" of a pin on an outline; empty near the middle and where the outline has no sides.

    From the front the wearer faces us, so the wearer's left is on our right.
    """
    if view not in {"front", "back"} or kind not in KINDS or KINDS[kind].drawing not in _TWO_SIDED:
        return ""
    if abs(x_permille - 500) <= _MIDDLE:
        return ""
    return "left" if (x_permille > 500) == (view == "front") else "right"


def wrong_side(kind: str, view: str, x_permille: int, zone: str) -> str:
    """A sentence when the words say one side and the pin stands on the other; empty otherwise."""
    said = {word.strip(",.;:’'").casefold() for word in zone.split()} & {"left", "right"}
    side = proper_side(kind, view, x_permille)
    if not side or len(said) != 1 or side in said:
        return ""
    return f"The pin stands on the wearer's {side}, the words say {said.pop()}: put one of them right."
