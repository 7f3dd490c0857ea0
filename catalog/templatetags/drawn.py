"""The small drawings as constants: verdict shapes, state shapes, icons. Ours, drawn on a 20 by 20 grid.

Each verdict has a shape of its own, so that nothing is told by colour alone.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Shape:
    """A verdict's tone (a colour class), its word and its drawing."""

    tone: str
    word: str
    svg: str


def _svg(body: str) -> str:
    return (
        '<svg width="20" height="20" viewBox="0 0 20 20" fill="none" stroke="currentColor" stroke-width="2" '
        f'stroke-linecap="round" stroke-linejoin="round" aria-hidden="true">{body}</svg>'
    )


# Ring with a tick, triangle with a bar, pentagon with a dot, square with a cross, shut gate, broken diamond.
_TICKED_RING = _svg('<circle cx="10" cy="10" r="8"/><path d="M6.2 10.4l2.6 2.6 5-5.6"/>')
_BARRED_TRIANGLE = _svg('<path d="M10 2.2 18.4 17.4H1.6Z"/><path d="M10 7.6v4.6M10 14.9v.1"/>')
_PENTAGON = _svg(
    '<path d="M10 1.8 18.2 7.8 15.1 17.6H4.9L1.8 7.8Z"/><circle cx="10" cy="10.4" r="1.6" fill="currentColor"/>'
)
_CROSSED_SQUARE = _svg('<path d="M2.4 2.4h15.2v15.2H2.4Z"/><path d="M6.6 6.6l6.8 6.8M13.4 6.6l-6.8 6.8"/>')
_SHUT_GATE = _svg('<path d="M6.4 1.8h7.2l4.6 4.6v7.2l-4.6 4.6H6.4l-4.6-4.6V6.4Z"/><path d="M5.8 10h8.4"/>')
_BROKEN_DIAMOND = _svg(
    '<path d="M10 1.6 18.4 10 10 18.4 1.6 10Z" stroke-dasharray="3.2 2.7" stroke-width="1.8"/>'
    '<path d="M8 8.3a2 2 0 1 1 3 1.8c-.7.4-1 .8-1 1.4M10 13.9v.1" stroke-width="1.8"/>'
)

MARKS = {
    "may": Shape("good", "may", _TICKED_RING),
    "conditions": Shape("care", "with conditions", _BARRED_TRIANGLE),
    "specialist": Shape("care", "specialist only", _PENTAGON),
    "no": Shape("bad", "no", _CROSSED_SQUARE),
    "stays": Shape("bad", "stays", _SHUT_GATE),
    "unknown": Shape("unknown", "unknown", _BROKEN_DIAMOND),
}


def _dot(body: str) -> str:
    return f'<svg width="12" height="12" viewBox="0 0 12 12" aria-hidden="true">{body}</svg>'


STATE_SHAPES = {
    "good": _dot('<circle cx="6" cy="6" r="5" fill="currentColor"/>'),
    "care": _dot('<path d="M6 .8 11.4 11H.6Z" fill="currentColor"/>'),
    "bad": _dot('<path d="M1 1h10v10H1Z" fill="currentColor"/>'),
    "unknown": _dot(
        '<path d="M6 1 11 6 6 11 1 6Z" fill="none" stroke="currentColor" stroke-width="1.5" '
        'stroke-dasharray="2.4 1.6"/>'
    ),
    "plain": _dot('<circle cx="6" cy="6" r="4" fill="none" stroke="currentColor" stroke-width="2"/>'),
}

ICONS = {
    "add": '<path d="M10 3.5v13M3.5 10h13"/>',
    "back": '<path d="M16 10H4M9 5l-5 5 5 5"/>',
    "on": '<path d="M4 10h12M11 5l5 5-5 5"/>',
    "find": '<circle cx="8.5" cy="8.5" r="5.5"/><path d="M12.6 12.6 17 17"/>',
    "scan": '<path d="M3 6.5V3h3.5M13.5 3H17v3.5M17 13.5V17h-3.5M6.5 17H3v-3.5M6 7v6M8.7 7v6M11.3 7v6M14 7v6"/>',
    "camera": '<path d="M2.5 6h3.7l1.3-2h5l1.3 2h3.7v10.5h-15Z"/><circle cx="10" cy="11" r="3"/>',
    "print": '<path d="M5.5 7.5V3h9v4.5M5.5 14.5H3v-7h14v7h-2.5M5.5 12h9v5h-9Z"/>',
    "down": '<path d="M10 3v10M5.5 9l4.5 4.5L14.5 9M3.5 17h13"/>',
    "off": '<path d="M5 5l10 10M15 5 5 15"/>',
    "edit": '<path d="M3.5 16.5l.8-3.7L13.5 3.600l2.900 2.900-9.200 9.200ZM11.5 5.600l2.900 2.900"/>',
    "menu": '<path d="M3 5.5h14M3 10h14M3 14.5h9"/>',
    "tag": '<path d="M7 3.5h10v13H7L2.5 12V8Z"/><circle cx="7" cy="10" r="1.4"/>',
    "trunk": '<path d="M2.5 6h15v10.5h-15ZM2.5 9.5h15M7 6V3.5h6V6M9 9.5v2.5h2V9.5"/>',
    "shelf": '<path d="M3 2.5v15M17 2.5v15M3 8h14M3 15h14M6 8V4.5h3.5V8M10.5 15v-4H14v4"/>',
    "clock": '<circle cx="10" cy="10" r="7.5"/><path d="M10 5.5V10l3 2"/>',
}
