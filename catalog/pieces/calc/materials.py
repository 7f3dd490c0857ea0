"""Which family a material belongs to, by the words of its name. The family says which damage words are offered.

Common practice, no source; the family can be corrected by hand at the material.
"""

import re

# The first family whose word stands in the name wins: "rubber-coated canvas" ages as rubber, "silk ribbon" as cloth.
_WORDS: tuple[tuple[str, str], ...] = (
    ("electric", "battery pack packs electrics electronics lithium servo servos cable cables motor led wiring lamp"),
    ("soft pvc", "pvc vinyl plasticised"),
    ("foam rubber", "foam rubber latex neoprene polyurethane silicone sponge"),
    ("fur", "fur feather feathers hair sheepskin down quill mohair"),
    ("finish", "paint wax varnish lacquer gilding gesso ink dye finish"),
    ("hard plastic", "resin fibre plastic polyester acrylic celluloid thermoplastic nylon perspex epoxy"),
    ("knit", "knit knitted jersey stockinette gansey"),
    (
        "metal",
        "brass steel iron lead aluminium copper pewter zinc tin silver gold bronze metal wire chain badge buttons",
    ),
    ("glass", "glass ceramic porcelain plaster"),
    ("leather", "leather suede skin hide parchment sole"),
    ("wood", "wood ash oak ply timber cane straw wicker bamboo willow pine birch cork horn bone"),
    ("paper", "paper card mache cardboard book"),
    (
        "cloth",
        "wool cotton linen silk canvas serge flannel velvet brocade damask elastane spandex viscose felt cloth lining "
        "ribbon wadding corduroy moleskin tulle lace net satin tweed denim thread webbing hessian batting",
    ),
)
_FAMILY_OF = {word: family for family, words in reversed(_WORDS) for word in words.split()}
# Names whose single words mislead.
_WHOLE = {
    "glass fibre": "hard plastic",
    "fur felt": "fur",
    "metal thread": "cloth",
    "horn buttons": "wood",
    "glass eyes": "glass",
    "faux fur": "cloth",
    "fake fur": "cloth",
    "polyurethane sole": "foam rubber",
    "nylon cloth": "cloth",
}


# Words in the names of materials that break down by themselves within decades, worn or not. The plastics that museums
# call unstable (cellulose nitrate and acetate, soft PVC, polyurethane) and foamed latex: conservation handbooks, from
# memory. Plain rubber ages too, but slower; it is not among them.
SHORT_LIVED = ("polyurethane", "foam latex", "latex foam", "celluloid", "cellulose", "pvc", "vinyl")


def family_of(name: str) -> str:
    """The family of a material's name: "oiled cotton" is cloth, "polyester resin" hard plastic, else "other"."""
    words = re.findall(r"[a-z]+", name.lower())
    whole = " ".join(words)
    for phrase, family in _WHOLE.items():
        if phrase in whole:
            return family
    found = {_FAMILY_OF[word] for word in words if word in _FAMILY_OF}
    return next((family for family, _ in _WORDS if family in found), "other")
