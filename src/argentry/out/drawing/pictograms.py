"""Hazard pictograms of the GHS: a red diamond frame, white ground, black symbol; own paths.

Drawn on a square of 100 by 100 after the figures of the UN's standard (ST/SG/AC.10/30, annex 1), as
two free copies of them have them; tests/outside holds where the standard's ink lies.
"""

from __future__ import annotations

from argentry.out.drawing.svg import mark
from argentry.trade.chemistry.hazards import PICTOGRAMS

RED, BLACK, WHITE = "#e4002b", "#000000", "#ffffff"
FRAME = 7.9  # width of the red frame, measured along an axis

_FLAME = (
    "M50 21L52 27L55 34L55 39.5L57 39L58.5 36L59 31L61 34L61.5 40L60.5 44L63 42.5L65 39"
    "L66.5 43L66 47"
    "L63.5 52L66.5 51L68 49L67.5 56L65 61L61 64L54.5 65.5L59 61L61 57.5L56 59L58.5 55L59 50.5"
    "L54.5 54.5"
    "L54 49L50.5 42.5L50 46L48.5 51L48.5 54.5L46 53.5L44 50.5L44 54L46.5 58.5L43 58L40.5 56.5L42 60"
    "L44 62.5L49 65L42 64.5L37 61L34.5 56.5L32 47L36 50L39 51L37 46L36.5 37L38 38L42 42.5"
    "L41 37L41.5 30.5"
    "L44 32L45.5 37L46.5 38.5L48.5 33L49 25Z"
)
_FLAME_ON_RING = (
    "M49.5 14.5L52.5 23L53.5 30L56 28L57 24L59 29L59 34.5L61 33.5L62 31.5L63 36L61.5 40.5L65.5 37.5"
    "L67 43.5L66 50.5L62.5 57L61 61L58 64.5L53.5 67H46.5L42 64.5L38 60L37 55.5L34.5 50"
    "L33.5 36.5L37.5 39.5"
    "L36.5 29L41.5 34L41.5 28L42.5 23L46.5 29.5L48 25Z"
)
_BETWEEN_TONGUES = (
    "M49 33L46.5 42H52.5L51 35.5Z M43.5 36.5L42 44L45.5 42.5Z M56.5 38L54 42L58 44.5Z"
    "M37.5 42.5L38.5 48L41.5 45Z M62.5 44L59.5 46L62 50Z"
)


def _path(d: str, fill: str = BLACK) -> str:
    return mark("path", d=d, fill=fill)


def _stroke(d: str, width: float, fill: str = "none") -> str:
    return mark(
        "path", d=d, fill=fill, stroke=BLACK, stroke_width=width, stroke_linecap="round",
        stroke_linejoin="round",
    )  # fmt: skip


def _flame() -> str:
    return _path(_FLAME) + _path("M36 68.3H65.7V71.3H36Z")


def _flame_over_circle() -> str:
    inside = mark("circle", cx=49.8, cy=54.3, r=9.2, fill=WHITE)
    bar = _path("M37 67H63.6V71H37Z")
    return _path(_FLAME_ON_RING) + _path(_BETWEEN_TONGUES, WHITE) + inside + bar


def _corrosion() -> str:
    # each tube pours outwards: the left one on a bar, the right one on a hand; both are eaten away
    tubes = (
        _path("M31 32L46 30.8C50 31 50.5 34.5 47 35.8L33.5 38.2L31.8 38.6Z")
        + _path("M32.4 34.3L46 31.9C49 32 49 34.3 47 34.8L32.6 36.2Z", WHITE)
        + _path("M69.5 32L68.6 32.8L54 30.5C49.5 30.5 49 34.5 52 35.4L67 38.2L68.8 38.6Z")
        + _path("M67.9 34L53 31.4C50.5 31.8 51 34 52.5 34.4L67.9 35.8Z", WHITE)
    )
    drops = "".join(
        _path(f"M{x} {y}c2 3 1.6 5 0 5.6c-1.6 -.6 -2 -2.6 0 -5.6Z")
        for x, y in ((32.1, 38.4), (32, 42.6), (68.2, 37), (68.1, 41.4))
    )
    smoke = "".join(
        _stroke(f"M{x} {y}c1.6 2 -.6 2.4 {way} 3.6s-.4 2 {way} 2.6", 1.1)
        for x, y, way in (
            (26, 44, 1.4), (28.4, 45.4, 0.6), (37.8, 43.6, -1.6), (35.2, 44.8, -0.6),
            (61, 39.8, 1.2), (63.8, 39.8, 0.6), (72, 39, -0.8), (75.2, 38.6, -1.4),
        )
    )  # fmt: skip
    bar = _path("M18 51H29C30.5 52.6 33.5 52.6 35.2 51H45.1V56H18Z")
    fingers = _stroke(
        "M75.6 49.8C72 49.6 71 48.6 69.5 47.9C67 49 66 47.4 63.6 47.5L61.5 48L62 49.4M66 49.5"
        "L58.5 49.6"
        "C57 50.6 58 51.4 59 51.4H63.8M58 51.5C55.4 51.8 55.6 53.4 57 53.5H63.8M58 53.6"
        "C58 55 59 55.2 60 55.2H64.8M60 55.4C59.6 57 61 57.2 63 57.2H69C71.5 57.2 73 55.8 75.6 55.6"
        "M69.6 49C66 49.6 65.6 50 67 51.8L69.6 52.9",
        1.1,
    )
    return tubes + drops + smoke + bar + fingers


def _exclamation() -> str:
    bar = _path(
        "M50.1 24.5C54.2 24.5 57.2 26.6 57.2 29L53.7 52.6C53.6 54.4 52 55.9 50.1 55.9"
        "C48.2 55.9 46.6 54.4 46.5 52.6L43 29C43 26.6 46 24.5 50.1 24.5Z"
    )
    return bar + mark("ellipse", cx=50.1, cy=65.1, rx=5.5, ry=5.8, fill=BLACK)


def _health() -> str:
    body = _path(
        "M50.2 18.5C57 18.5 61 24 60.5 30C60 36 58 41 56 43.5V46.8L70.6 51.5"
        "C73 52.6 74.1 54 74.1 56V60.5"
        "L50.2 82.4L27.3 59.8V56C27.3 54 28 52.6 30 51.6L44 46.6L44.2 43C42 40 40 36 39.8 30"
        "C39.6 24 43.4 18.5 50.2 18.5Z"
    )
    star = _path(
        "M50.2 40.5L52.4 54.6L66 50.4L55.2 59.2L66 68.2L52.4 64.2L50.2 82.4L48.6 64.4"
        "L35.8 68.2L45.4 60"
        "L34.6 49.8L48 54.9Z",
        WHITE,
    )
    return body + star


def _environment() -> str:
    tree = _path(
        "M36 27L39 31L39.8 28.5H41L40.6 34L43 42L45.5 38.5L45 29H46.2L46.8 34.3L51.6 29.2"
        "L47.2 37L47.4 39.5"
        "L46.3 42.4L48.4 40.7L51.7 40.3L56 36.4L52.3 42.6L49.8 43.3L46 47.6V55.4L51.5 58.2"
        "L44.7 59.2"
        "L43.2 61.5L41 59.7L35.6 60L40 57L40 45.5L34.2 42.4L31.5 42.5L34.8 39.8L39.6 41.7"
        "L38.4 38.5L32.8 34.2"
        "V32.7L38.6 36.2L38 32Z"
    )
    water = _path("M30.4 49.6H66V50.4H30.4Z")
    ground = _path(
        "M30.5 66.8L38.5 65.3L46.5 61.5L52 58.4L67.9 60.2L64.3 62L69.3 62.4L68 64.5H70.8L70.9 67.3Z"
    )
    fish = _stroke(
        "M46.4 61L51.7 58.8C55 55 58 48 66.3 47.5L65 50.1L69.5 48.9C69 53 66 56.5 61.5 58.6"
        "L55 61L53 63.6Z",
        0.8,
        WHITE,
    )
    return tree + water + ground + fish + mark("circle", cx=66.0, cy=52.2, r=0.8, fill=BLACK)


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
