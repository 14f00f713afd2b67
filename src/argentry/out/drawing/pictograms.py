"""Hazard pictograms of the GHS: a red diamond frame, white ground, black symbol; own paths.

Drawn after the words and figures of annex 3 of the UN's standard, on a square of 100 by 100.
"""

from __future__ import annotations

from argentry.out.drawing.svg import mark
from argentry.trade.chemistry.hazards import PICTOGRAMS

RED, BLACK, WHITE = "#e4002b", "#000000", "#ffffff"
FRAME = 5.0  # width of the red frame, measured along an axis

_FLAME = (
    "M51 17C53 27 64 34 63 47C65 45 66 42 66 38C72 47 72 61 62 68L38 68C28 61 28 49 35 40"
    "C36 46 38 49 41 50C38 38 47 30 51 17Z"
)
_TONGUE = "M47 68C41 64 42 57 48 51C48 56 52 57 53 52C59 58 59 64 54 68Z"


def _path(d: str, fill: str = BLACK) -> str:
    return mark("path", d=d, fill=fill)


def _stroke(d: str, width: float, colour: str = BLACK) -> str:
    return mark(
        "path", d=d, fill="none", stroke=colour, stroke_width=width, stroke_linecap="round",
        stroke_linejoin="round",
    )  # fmt: skip


def _flame() -> str:
    return _path(_FLAME) + _path(_TONGUE, WHITE) + _path("M33 72H67V77H33Z")


def _flame_over_circle() -> str:
    # the flame stands on the ring; its inner tongue is left out, as it would be too small to see
    flame = mark(
        "g", _path(_FLAME) + _path(_TONGUE, WHITE), transform="translate(17 3) scale(0.66)"
    )
    ring = mark("circle", cx=50.0, cy=61.0, r=11.5, fill="none", stroke=BLACK, stroke_width=5.0)
    return flame + ring + _path("M38 76.5H62V81H38Z")


def _tube(turn: str) -> str:
    glass = _stroke("M-11 -5H8A5 5 0 0 1 8 5H-11", 2.2)
    return mark("g", glass + _path("M-9 1H9A4 4 0 0 1 7 4H-9Z"), transform=turn)


def _drops(x: float) -> str:
    return "".join(
        _path(f"M{x + dx} {y}c2 2.6 2 4.4 0 5.4c-2 -1 -2 -2.8 0 -5.4Z")
        for dx, y in ((0.0, 41.0), (-1.2, 48.0), (1.2, 54.0))
    )


def _corrosion() -> str:
    # left: a bar that is eaten away; right: a hand that is
    bar = _path("M22 62H31C33 66 35 65 36 67C38 66 39 66 41 62H48V68H22Z")
    hand = _path(
        "M52 68C52 64 55 62 58 62L64 61C66 65 67 63 68 66C70 65 71 65 71 61L78 58"
        "C80 58 80 60 79 61L70 68L64 72H54Z"
    )
    smoke = _stroke("M31 57C29 54 32 53 30 50", 1.4) + _stroke("M41 57C39 54 42 53 40 50", 1.4)
    return (
        _tube("translate(48 29) rotate(-20)")
        + _tube("translate(62 39) rotate(-20)")
        + _drops(36.0)
        + mark("g", _drops(52.0), transform="translate(15 5)")
        + bar
        + hand
        + smoke
    )


def _exclamation() -> str:
    bar = _path(
        "M50 21C54.5 21 57 24 56.5 29L53.6 57C53.3 60 46.7 60 46.4 57L43.5 29C43 24 45.5 21 50 21Z"
    )
    return bar + mark("circle", cx=50.0, cy=70.0, r=5.6, fill=BLACK)


def _health() -> str:
    head = mark("ellipse", cx=50.0, cy=25.5, rx=7.2, ry=8.8, fill=BLACK)
    body = _path("M45 32H55V37C63 38 68 42 69 49L71 64L62 74H38L29 64L31 49C32 42 37 38 45 37Z")
    star = _path(
        "M50 40L53 50L61 45L57 53.5L68 56L57 58.5L61 67L53 62L50 72L47 62L39 67L43 58.5L32 56"
        "L43 53.5L39 45L47 50Z",
        WHITE,
    )
    return head + body + star


def _environment() -> str:
    ground = _path("M16 66C26 62 30 65 38 64C48 63 52 67 60 66L52 74H24Z")
    trunk = _path(
        "M36 65C38 56 37 48 35 42L38 42C39 45 40 47 40 50C42 46 43 42 43 37L46 37"
        "C46 45 44 52 43 55C43 59 44 62 46 65Z"
    )
    boughs = (
        _stroke("M36.5 43L30 32", 2.4)
        + _stroke("M33 37L25 35", 1.8)
        + _stroke("M38 46L37 27", 2.2)
        + _stroke("M44.5 38L43 24", 2.4)
        + _stroke("M45 40L54 28", 2.2)
        + _stroke("M49 34L50 24", 1.6)
        + _stroke("M44 46L56 39", 2.0)
    )
    fish = _path("M52 61C58 51 70 50 77 57L86 51C84 57 84 60 87 65L77 61C70 68 60 68 52 61Z")
    whole = ground + trunk + boughs + fish + _fish_marks()
    return mark("g", whole, transform="translate(8 8) scale(0.82)")


def _fish_marks() -> str:
    eye = _stroke("M57.5 57.5L61 61M61 57.5L57.5 61", 1.4, WHITE)
    return eye + _stroke("M65 55C67 58 67 61 65 64", 1.3, WHITE)


_SYMBOLS = {
    "GHS02": _flame,
    "GHS03": _flame_over_circle,
    "GHS05": _corrosion,
    "GHS07": _exclamation,
    "GHS08": _health,
    "GHS09": _environment,
}


def pictogram(key: str, side: float | None = None) -> str:
    """Return one pictogram as SVG.

    Parameters
    ----------
    key : str
        One of `argentry.trade.chemistry.hazards.PICTOGRAMS`.
    side : float, optional
        Width and height on a page. [px]
    """
    inner = FRAME
    frame = _path("M50 0L100 50L50 100L0 50Z", RED)
    ground = _path(f"M50 {inner}L{100 - inner} 50L50 {100 - inner}L{inner} 50Z", WHITE)
    return mark(
        "svg",
        frame + ground + _SYMBOLS[key](),
        xmlns="http://www.w3.org/2000/svg",
        viewBox="0 0 100 100",
        width=side,
        height=side,
        role="img",
        aria_label=PICTOGRAMS[key],
    )
