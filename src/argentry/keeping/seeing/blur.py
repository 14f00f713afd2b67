"""How sharp the picture on a plate is: its kind of blur, how long it is and where it points."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from argentry import trade
from argentry.judge.odds import odds_over
from argentry.records.answers.plate_seen import BlurSeen, MarkedEdgeSeen
from argentry.records.answers.seen import NotTold

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    from argentry.judge.edge_blur import EdgeBlur, EdgeSeen
    from argentry.judge.plate import Plate

LEAST_ODDS = 0.5
DEFECT = {"motion": "motion_blur", "focus": "out_of_focus"}
FEW_EDGES = "too few clear edges in the picture, or the plate's own outline is not clear"
SOFT_COPY = "the copy itself is soft: sharpen its focus and take it again"
KINDS = {"sharp": "sharp", "motion": "motion blur", "focus": "out of focus"}
SOFT = "soft, by motion or focus"
MOST_PERCENT = 99  # no picture proves more
THE_PICTURE, WITH_CHANCE = "the picture is {kind}", "{kind}, {chance:.0f} % likely"
LONG, LONG_MM, AT = "{kind}, {px:.0f} px", "{kind}, {mm:.2f} mm", "{kind} at {angle:.0f}°"
NO_CURVE = (
    "no curve of the plate is given, and by the picture's tones alone a blur comes out too short "
    "and may point wrong: read one from a step wedge"
)


def blur_of(
    seen: Plate, scale: float, mm: float | None = None
) -> tuple[BlurSeen | None, list[NotTold]]:
    """Return how sharp the picture is, or why that is not told.

    Parameters
    ----------
    seen : Plate
        As it was looked at.
    scale : float
        Pixels of the file for one of the picture looked at.
    mm : float or None
        On the plate for a pixel of the file. [mm/px]
    """
    blind = _blind(seen, scale)
    marked = seen.edges
    if marked is None:
        return (None, [NotTold("blur", blind)]) if isinstance(blind, str) else (blind, [])
    known = BlurSeen("unknown", 0.5) if isinstance(blind, str) else blind
    known = replace(known, edges=tuple(_edge(one, scale) for one in marked.edges))
    missing = [NotTold("blur_kind", marked.why)] if marked.kind == "unknown" else []
    if marked.kind == "unknown":
        return known, missing
    return _by_edges(known, marked, scale, mm)


def _by_edges(
    known: BlurSeen, marked: EdgeBlur, scale: float, mm: float | None
) -> tuple[BlurSeen, list[NotTold]]:
    """Return what marked edges say, in pixels of the file."""
    missing = [NotTold("blur_direction", marked.why)] if marked.why else []
    length, disc = (
        None if one is None else round(one * scale, 1) for one in (marked.length, marked.disc)
    )
    turn = marked.direction_deg
    if not marked.curved and marked.kind != "sharp":
        length, disc, turn = None, None, None
        missing = [NotTold("blur_length", NO_CURVE)]

    def on_plate(one: float | None) -> float | None:
        return None if one is None or mm is None else round(one * mm, 3)

    return replace(
        known, kind=marked.kind, odds=round(marked.odds, 3), length_px=length,
        length_mm=on_plate(length), direction_deg=None if turn is None else round(turn, 1),
        disc_px=disc, disc_mm=on_plate(disc),
    ), missing  # fmt: skip


def _edge(one: EdgeSeen, scale: float) -> MarkedEdgeSeen:
    x1, y1, x2, y2 = (round(float(at) * scale, 1) for at in one.line)
    wide = None if one.width is None else round(one.width * scale, 1)
    return MarkedEdgeSeen((x1, y1), (x2, y2), wide, one.why)


def _blind(seen: Plate, scale: float) -> BlurSeen | str:
    """Return how sharp the picture is by itself, or why that is not told."""
    sharp = seen.sharp
    if sharp is None or sharp.own is None or sharp.copy is None:
        return FEW_EDGES
    limit = trade.value("seeing", "soft_from_px")
    soft = odds_over(sharp.own, limit, 6.0)
    kind = "sharp" if soft < LEAST_ODDS else "unknown"
    if kind == "sharp" and sharp.copy > trade.value("seeing", "copy_soft_from_px"):
        return SOFT_COPY
    if kind != "sharp" and sharp.uneven >= trade.value("seeing", "motion_from"):
        kind = "motion"
    each = scale * seen.looked_px
    return BlurSeen(
        kind, round(1.0 - soft if kind == "sharp" else soft, 3),
        edge_px=round(sharp.own * each, 2), copy_px=round(sharp.copy * each, 2),
    )  # fmt: skip


def blur_figure(blur: Mapping[str, Any]) -> str:
    """Return the kind of a blur and its chance in words, from an answer that was kept."""
    kind = KINDS.get(blur["kind"], SOFT)
    return WITH_CHANCE.format(
        kind=kind[0].upper() + kind[1:], chance=min(round(100.0 * blur["odds"]), MOST_PERCENT)
    )


def words_of(blur: BlurSeen) -> str:
    """Return a blur in words; of a soft picture."""
    if blur.kind not in DEFECT:
        return THE_PICTURE.format(kind=SOFT)
    said = KINDS[blur.kind]
    px, mm = blur.length_px or blur.disc_px, blur.length_mm or blur.disc_mm
    if mm is not None:
        said = LONG_MM.format(kind=said, mm=mm)
    elif px is not None:
        said = LONG.format(kind=said, px=px)
    return said if blur.direction_deg is None else AT.format(kind=said, angle=blur.direction_deg)
