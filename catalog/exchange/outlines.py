"""Outlines of pieces: one a kind, and a few more for things that a word of their name tells apart."""

import re
from collections.abc import Callable

from catalog.exchange.board import Board
from catalog.exchange.palette import blend, darker, lighter

Outline = Callable[[Board], None]


def outline_of(kind: str, name: str) -> Outline:
    """The outline of a kind; within it the first one whose word stands in the piece's name."""
    words = set(re.findall(r"[a-z]+", name.lower()))
    for known, outline in _BY_NAME.get(kind, ()):
        if words & known:
            return outline
    return _BY_KIND.get(kind, _parcel)


def _buttons(board: Board, x: float, top: float, bottom: float, number: int) -> None:
    for n in range(number):
        board.disc(x, top + (bottom - top) * n / max(1, number - 1), 11, lighter(board.third, 0.35), 4)


def _sleeves(board: Board, cuff: float, width: float = 92) -> None:
    tone = darker(board.main, 0.08)
    board.mirrored([(655, 190), (725, 225), (800, cuff), (800 - width, cuff + 26), (668, 340)], tone)


def _coat(board: Board) -> None:
    hem = 850 + board.rng.uniform(-50, 20)
    _sleeves(board, 640)
    board.both([(500, 175), (570, 158), (655, 190), (668, 340), (655, 520), (706, hem), (500, hem + 16)])
    board.shape([(500, 420), (430, 164), (500, 190), (570, 164)], darker(board.second, 0.1))
    board.stroke([(500, 420), (500, hem + 12)])
    _buttons(board, 535, 440, 660, 4)
    _buttons(board, 465, 440, 660, 4)
    board.mirrored([(575, 600), (640, 594), (642, 616), (577, 622)], darker(board.main, 0.12), 5)


def _waistcoat(board: Board) -> None:
    board.both([(500, 190), (560, 170), (625, 190), (600, 320), (640, 440), (640, 700), (560, 690), (500, 760)])
    board.shape([(500, 430), (440, 178), (500, 200), (560, 178)], lighter(board.second, 0.3))
    board.stroke([(500, 430), (500, 750)])
    _buttons(board, 520, 460, 700, 5)


def _shirt(board: Board) -> None:
    _sleeves(board, 660, 78)
    board.both([(500, 195), (560, 175), (655, 195), (664, 340), (650, 560), (660, 790), (500, 815)])
    board.both([(500, 150), (556, 150), (566, 205), (500, 222)], lighter(board.main, 0.25))
    board.stroke([(500, 222), (500, 806)])
    _buttons(board, 500, 290, 700, 5)


def _gown(board: Board) -> None:
    _sleeves(board, 600, 120)
    board.both([(500, 190), (580, 165), (655, 200), (640, 400), (740, 870), (500, 890)])
    board.stroke([(366, 420), (500, 440), (634, 420)], width=8)
    board.stroke([(470, 440), (440, 876)])
    board.stroke([(530, 440), (560, 876)])
    board.stroke([(440, 180), (500, 320), (560, 180)], board.second, 22)


def _trousers(board: Board) -> None:
    board.both([(500, 190), (620, 190), (665, 860), (545, 866), (505, 420), (500, 420)])
    board.box(378, 180, 622, 232, darker(board.main, 0.15), 8)
    board.stroke([(500, 232), (500, 420)])
    board.mirrored([(560, 240), (606, 300), (600, 306), (556, 248)], darker(board.main, 0.2), 3)


def _suit(board: Board) -> None:
    _sleeves(board, 560)
    board.both([(500, 180), (560, 160), (655, 190), (650, 520), (668, 850), (540, 856), (504, 590), (500, 590)])
    board.both([(500, 150), (560, 150), (568, 200), (500, 215)], board.third)
    board.stroke([(348, 500), (652, 500)], width=7)
    board.stroke([(500, 215), (500, 590)])
    board.mirrored([(548, 800), (662, 796), (668, 852), (542, 858)], board.third, 5)


def _knit(board: Board) -> None:
    _sleeves(board, 640, 96)
    board.both([(500, 200), (560, 185), (655, 200), (664, 340), (655, 740), (500, 744)])
    board.both([(500, 160), (552, 160), (562, 210), (500, 222)], darker(board.main, 0.1))
    tone = darker(board.main, 0.16)
    for n in range(7):
        x = 380 + n * 40
        board.stroke([(x, 260), (x + 12, 320), (x, 380), (x + 12, 440), (x, 500), (x + 12, 560), (x, 620)], tone, 4)
    board.box(345, 690, 655, 750, darker(board.main, 0.1), 8)


def _stiff(board: Board) -> None:
    board.both([(500, 300), (600, 280), (740, 330), (770, 480), (690, 640), (500, 690)])
    board.oval(385, 225, 615, 345, darker(board.main, 0.35))
    board.oval(405, 210, 595, 310, lighter(board.main, 0.2))
    for x, y in ((300, 420), (700, 420), (340, 560), (660, 560), (430, 630), (570, 630)):
        board.disc(x, y, 15, lighter(board.second, 0.25))


def _helmet(board: Board) -> None:
    board.oval(270, 190, 730, 700)
    board.both([(500, 660), (660, 640), (720, 770), (500, 800)], darker(board.main, 0.12))
    board.disc(500, 430, 128, lighter(board.second, 0.2), 9)
    board.disc(500, 430, 92, darker(board.main, 0.55), 7)
    board.stroke([(440, 380), (480, 350)], lighter(board.main, 0.6), 10)
    for n in range(4):
        board.disc(380 + n * 80, 725, 13, lighter(board.third, 0.3))


def _hat(board: Board) -> None:
    board.oval(215, 560, 785, 730, darker(board.main, 0.1))
    board.both([(500, 330), (620, 345), (655, 620), (500, 655)])
    board.oval(378, 295, 622, 372, lighter(board.main, 0.12))
    board.shape([(350, 585), (500, 618), (650, 585), (653, 628), (500, 662), (347, 628)], board.second)


def _boots(board: Board) -> None:
    for shift, tone in ((-150, darker(board.main, 0.08)), (90, board.main)):
        x = 400 + shift
        leg = [(x, 300), (x + 150, 300), (x + 150, 660), (x + 260, 740), (x + 268, 800), (x - 4, 800)]
        board.shape(leg, tone)
        board.box(x - 8, 796, x + 274, 836, darker(board.second, 0.3), 10)
        board.stroke([(x, 350), (x + 150, 350)], board.third, 12)
        board.stroke([(x, 640), (x + 150, 650)])


def _gloves(board: Board) -> None:
    hand = [
        (590, 560), (575, 440), (525, 400), (540, 370), (600, 410), (596, 270), (640, 268), (652, 385), (664, 248),
        (706, 250), (708, 388), (730, 270), (768, 280), (764, 420), (790, 330), (822, 344), (806, 480), (776, 570),
    ]  # fmt: skip
    board.mirrored(hand)
    board.mirrored([(590, 556), (778, 566), (830, 780), (560, 776)], board.second)


def _belt(board: Board) -> None:
    board.oval(180, 370, 820, 660, darker(board.main, 0.2), 8)
    board.oval(215, 400, 785, 600, blend(board.main, (243, 239, 230), 0.8), 6)
    for x, y in ((225, 520), (330, 590), (620, 604), (725, 560)):
        board.box(x, y, x + 70, y + 80, board.second, 8)
    board.box(440, 580, 560, 690, lighter(board.third, 0.3), 10)
    board.box(468, 608, 532, 662, darker(board.main, 0.2), 6)


def _cloak(board: Board) -> None:
    board.both([(500, 200), (570, 190), (640, 300), (780, 840), (640, 872), (500, 850)])
    board.both([(500, 180), (580, 176), (622, 250), (500, 290)], board.second)
    for x in (410, 590):
        board.stroke([(500 + (x - 500) * 0.4, 300), (x, 850)])
    board.disc(500, 290, 20, lighter(board.third, 0.4))


def _jewel(board: Board) -> None:
    for n in range(15):
        angle = n / 14
        x = 250 + 500 * angle
        y = 260 + 420 * (1 - (2 * angle - 1) ** 2)
        board.disc(x, y, 30, lighter(board.main, 0.1 if n % 2 else 0.3))
    board.shape([(500, 690), (560, 760), (500, 850), (440, 760)], board.second)


def _creature(board: Board) -> None:
    board.shape([(230, 620), (280, 380), (430, 270), (600, 290), (760, 420), (860, 520), (840, 600), (640, 660),
                 (560, 760), (330, 790)])  # fmt: skip
    board.shape([(400, 280), (380, 170), (470, 262)], darker(board.main, 0.1))
    board.disc(600, 420, 34, lighter(board.third, 0.5))
    board.disc(608, 424, 15, (40, 34, 30))
    board.disc(838, 534, 22, darker(board.main, 0.5))
    board.stroke([(820, 592), (700, 600), (640, 570)], width=8)
    for n in range(9):
        x = 300 + n * 36
        board.stroke([(x, 640), (x - 16, 690 + 20 * (n % 3))], board.second, 6)


def _puppet(board: Board) -> None:
    board.box(320, 150, 680, 190, board.second)
    for x in (380, 500, 620):
        board.stroke([(x, 190), (x, 430)], width=4)
    board.disc(500, 450, 90)
    board.both([(500, 530), (570, 530), (640, 800), (500, 830)], darker(board.main, 0.08))
    board.mirrored([(560, 560), (690, 640), (670, 690), (570, 640)])
    for x in (470, 530):
        board.disc(x, 440, 10, (40, 34, 30), 3)


def _model(board: Board) -> None:
    board.box(180, 770, 820, 830, board.second)
    board.both([(500, 330), (560, 330), (600, 770), (500, 770)])
    board.both([(500, 220), (570, 300), (570, 330), (500, 330)], board.third)
    board.box(250, 600, 400, 772, lighter(board.main, 0.15), 4)
    board.shape([(235, 604), (325, 520), (415, 604)], darker(board.third, 0.1))
    for y in (430, 540, 650):
        board.box(478, y, 522, y + 50, darker(board.main, 0.5), 4)


def _lantern(board: Board) -> None:
    board.oval(400, 150, 600, 330, blend(board.main, (243, 239, 230), 0.85), 14)
    board.both([(500, 270), (580, 280), (600, 340), (500, 340)], board.third)
    board.box(385, 340, 615, 700, lighter(board.second, 0.45), 20)
    board.disc(500, 520, 60, (250, 236, 190))
    for x in (420, 580):
        board.stroke([(x, 344), (x, 696)], width=12)
    board.both([(500, 700), (640, 700), (670, 820), (500, 820)])


def _long_weapon(board: Board) -> None:
    board.stroke([(310, 880), (640, 250)], board.line, 46)
    board.stroke([(312, 876), (638, 254)], board.second, 30)
    board.shape([(600, 330), (640, 130), (720, 90), (700, 200), (800, 240), (760, 380), (660, 360)])
    board.stroke([(640, 200), (690, 330)], lighter(board.main, 0.4), 8)


def _dressing(board: Board) -> None:
    board.box(300, 250, 700, 640)
    board.box(350, 300, 650, 590, lighter(board.second, 0.25), 8)
    board.box(465, 640, 535, 800, board.third, 6)
    board.both([(500, 790), (640, 800), (660, 850), (500, 850)], darker(board.main, 0.1))


def _parcel(board: Board) -> None:
    board.box(250, 350, 750, 800)
    board.stroke([(500, 350), (500, 800)], board.second, 30)
    board.stroke([(250, 560), (750, 560)], board.second, 30)


def _pole(board: Board) -> None:
    board.stroke([(360, 900), (600, 190)], board.line, 34)
    board.stroke([(362, 896), (598, 196)], board.main, 20)
    board.disc(608, 160, 62, (250, 236, 190), 8)
    board.box(560, 210, 640, 250, board.second, 8)


def _blade(board: Board) -> None:
    board.shape([(470, 620), (520, 180), (575, 120), (560, 620)], lighter(board.main, 0.2))
    board.box(420, 615, 610, 655, board.second, 10)
    board.box(465, 650, 565, 850, darker(board.second, 0.25), 20)


def _sheet(board: Board) -> None:
    board.shape([(270, 250), (700, 220), (740, 800), (300, 820)], lighter(board.main, 0.1))
    for n in range(8):
        y = 330 + n * 56
        board.stroke([(340 + n * 3, y), (660 - board.rng.uniform(0, 120), y - 18)], board.second, 6)


def _dial(board: Board) -> None:
    board.disc(500, 500, 270)
    board.disc(500, 500, 215, lighter(board.second, 0.5), 8)
    board.stroke([(500, 500), (610, 370)], darker(board.line, 0.2), 14)
    for x, y in ((500, 320), (680, 500), (320, 500), (500, 680)):
        board.disc(x, y, 13, board.line, 3)
    board.box(455, 180, 545, 240, darker(board.main, 0.15), 10)


def _satchel(board: Board) -> None:
    board.stroke([(330, 420), (380, 220), (620, 220), (670, 420)], width=16)
    board.box(270, 400, 730, 800)
    board.shape([(270, 410), (730, 410), (690, 610), (500, 650), (310, 610)], darker(board.second, 0.1))
    board.disc(500, 640, 24, lighter(board.third, 0.3))


def _crown(board: Board) -> None:
    rim = [(250, 700), (230, 400), (350, 540), (420, 330), (500, 520), (580, 330), (650, 540), (770, 400), (750, 700)]
    board.shape(rim)
    board.box(245, 680, 755, 770, darker(board.main, 0.12), 10)
    for x in (330, 500, 670):
        board.disc(x, 725, 24, board.second)


def _peaked_cap(board: Board) -> None:
    board.both([(500, 330), (640, 350), (760, 430), (700, 540), (500, 545)])
    board.box(305, 520, 695, 610, darker(board.main, 0.18), 8)
    board.both([(500, 600), (650, 596), (690, 660), (590, 720), (500, 730)], darker(board.second, 0.45))
    board.disc(500, 500, 34, lighter(board.third, 0.3))


def _limbs(board: Board) -> None:
    board.mirrored([(580, 240), (700, 230), (730, 460), (690, 640), (790, 760), (740, 830), (590, 800), (600, 520)])
    for n in range(6):
        x = 620 + n * 16
        board.mirrored([(x, 330 + n * 50), (x + 10, 370 + n * 50), (x + 4, 372 + n * 50)], board.second, 3)


_BY_KIND: dict[str, Outline] = {
    "coat": _coat,
    "waistcoat": _waistcoat,
    "shirt": _shirt,
    "gown": _gown,
    "trousers": _trousers,
    "suit": _suit,
    "knit": _knit,
    "stiff": _stiff,
    "helmet": _helmet,
    "hat": _hat,
    "boots": _boots,
    "gloves": _gloves,
    "belt": _belt,
    "cloak": _cloak,
    "jewel": _jewel,
    "creature": _creature,
    "puppet": _puppet,
    "model": _model,
    "prop": _satchel,
    "weapon": _long_weapon,
    "dressing": _dressing,
    "other": _parcel,
}
_BY_NAME: dict[str, tuple[tuple[frozenset[str], Outline], ...]] = {
    "prop": (
        (frozenset({"pole", "staff", "stick", "rod", "oar"}), _pole),
        (frozenset({"lamp", "lantern", "light", "torch"}), _lantern),
        (frozenset({"gauge", "watch", "compass", "dial", "clock"}), _dial),
        (frozenset({"chart", "ledger", "letter", "book", "paper", "map", "scroll"}), _sheet),
    ),
    "weapon": ((frozenset({"knife", "dagger", "sword"}), _blade),),
    "jewel": ((frozenset({"crown", "circlet", "tiara"}), _crown),),
    "hat": ((frozenset({"cap"}), _peaked_cap),),
    "creature": (
        (frozenset({"legs", "forelegs", "flippers", "arms", "paws", "wings"}), _limbs),
        (frozenset({"body", "skin", "suit"}), _suit),
    ),
}
