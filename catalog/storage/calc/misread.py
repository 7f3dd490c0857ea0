"""What a misread or mistyped code may have been: swapped neighbours, look-alike signs, one wrong digit."""

# Signs that look alike on a worn label or sound alike when read out.
LOOK_ALIKE = {"O": "0Q", "0": "OQ", "Q": "0O", "I": "1L", "L": "1I", "1": "ILT7", "S": "5", "5": "S6", "B": "8"}
LOOK_ALIKE |= {"8": "B3", "Z": "2", "2": "Z7", "G": "6", "6": "G5", "T": "17", "7": "1T2", "3": "8", "D": "0", "9": "4"}
DIGITS = "0123456789"


def readings(text: str, *, most: int = 200, swaps_and_looks_alone: bool = False) -> list[str]:
    """Other readings of the text, likeliest first: two signs swapped, look-alikes, then any one other digit."""
    word = text.strip().upper()
    found: dict[str, None] = {}
    for i in range(len(word) - 1):
        if word[i] != word[i + 1]:
            found[word[:i] + word[i + 1] + word[i] + word[i + 2 :]] = None
    for signs in (LOOK_ALIKE,) if swaps_and_looks_alone else (LOOK_ALIKE, dict.fromkeys(DIGITS, DIGITS)):
        for i, sign in enumerate(word):
            for other in signs.get(sign, ""):
                found[word[:i] + other + word[i + 1 :]] = None
    found.pop(word, None)
    return list(found)[:most]


def likely_readings(text: str) -> list[str]:
    """Only swapped neighbours and look-alikes, and only where letters stay letters and digits digits."""
    word = text.strip().upper()
    shape = [sign.isdecimal() for sign in word]
    near = readings(word, swaps_and_looks_alone=True)
    return [other for other in near if [sign.isdecimal() for sign in other] == shape]
