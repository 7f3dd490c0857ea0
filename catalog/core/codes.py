"""Label codes: a kind letter, five digits and a check character by ISO 7064 MOD 37,36.

MOD 37,36 is the standard's hybrid system for alphanumeric strings: its check character is always one of
0-9A-Z, so a code stays inside the QR alphanumeric set. It finds every single wrong character; of swapped
neighbours it misses about 0.17 % among all signs, and 0.85 % among the digits of our codes (counted over all of them).
"""

import re

ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_MODULUS = 36
CODE_PATTERN = re.compile(r"^[A-Z][0-9]{5}[0-9A-Z]$")


class CodeError(ValueError):
    """The text is no label code; the message is a sentence for the user."""


def check_character(payload: str) -> str:
    """The ISO 7064 MOD 37,36 check character of an upper-case alphanumeric payload."""
    rest = _MODULUS
    for sign in payload:
        place = ALPHABET.find(sign)
        if place < 0 or not sign:
            raise CodeError(f"“{sign}” cannot stand in a code: use 0-9 and A-Z.")
        rest = (rest + place) % _MODULUS or _MODULUS
        rest = (rest * 2) % (_MODULUS + 1)
    return ALPHABET[(_MODULUS + 1 - rest) % _MODULUS]


def make_code(letter: str, number: int) -> str:
    """The label code of a kind letter and a running number 0-99999, e.g. ("P", 42) gives "P00042" and its check."""
    if len(letter) != 1 or letter not in ALPHABET[10:]:
        raise CodeError("A code starts with one letter A-Z.")
    if not 0 <= number <= 99_999:
        raise CodeError("A code holds numbers from 0 to 99999.")
    payload = f"{letter}{number:05d}"
    return payload + check_character(payload)


def near_codes(text: str) -> list[str]:
    """Right codes that differ from what was read in one sign, whichever, or in two neighbours that were swapped.

    The check character leaves at most one right sign for each place, so the list is short. The last sign comes first:
    where all others were read well, it is the likeliest to be worn.
    """
    code = _bare(text)
    if len(code) != len("P00042Z"):
        return []
    swapped = [code[:i] + code[i + 1] + code[i] + code[i + 2 :] for i in range(len(code) - 1)]
    changed = [code[:i] + sign + code[i + 1 :] for i in reversed(range(len(code))) for sign in ALPHABET]
    found = dict.fromkeys(near for near in (*swapped, *changed) if near != code and _is_right(near))
    return list(found)


def _is_right(code: str) -> bool:
    return CODE_PATTERN.match(code) is not None and check_character(code[:-1]) == code[-1]


def looks_like_code(text: str) -> bool:
    """Whether the text has the shape of a label code, right or wrong."""
    return CODE_PATTERN.match(_bare(text)) is not None


def read_code(text: str) -> str:
    """The code in what was scanned or typed: a bare code, or an address that ends in one.

    Raises CodeError with a sentence when there is no code in it or its check character is wrong.
    """
    code = _bare(text)
    if CODE_PATTERN.match(code) is None:
        raise CodeError(f"“{text.strip()[:40]}” is no label code: a letter, five digits and a check character.")
    if check_character(code[:-1]) != code[-1]:
        raise CodeError(f"{code} has a wrong check character: a sign was misread or two were swapped. Look again.")
    return code


def plain(text: str) -> str:
    """A number or code as people compare it, in capitals, without spaces and dashes: "ab 12-3" and "AB-123" are one."""
    return "".join(text.split()).replace("-", "").upper()


def _bare(text: str) -> str:
    """The last part of a scanned address, as compared."""
    return plain(text.strip().rstrip("/").replace("\\", "/").rsplit("/", 1)[-1])
