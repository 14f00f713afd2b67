"""What was asked of this day alone, in one line."""

from __future__ import annotations

from argentry.records.wishes import Sitter, Wishes

ONLY_TODAY = "Only on this day: {wishes}."
FROM, UNTIL = "hours from {time}", "hours until {time}"
BREAKS, NO_BREAK = "breaks {spans}", "no break"
HANDS = {1: "one pair of hands"}
MORE_HANDS = "{count} pairs of hands"
FRAMES = "frames of the first kind: {count}"
BOXES, CAMERAS = "iodine boxes: {count}", "cameras: {count}"
LAMP = "over one more frame a {lamp}"
POLISHED = "plates polished the evening before: {count}"
SITTERS = "sitters at {sitters}"
SEALED = {True: "sealed and labelled another day", False: "sealed and labelled the same day"}
POSE = "no pose longer than {minutes:g} min"


def wished_line(wishes: Wishes) -> str:
    """Return the line; empty when nothing was asked."""
    said = []
    if wishes.start is not None:
        said.append(FROM.format(time=wishes.start))
    if wishes.end is not None:
        said.append(UNTIL.format(time=wishes.end))
    if wishes.breaks is not None:
        spans = ", ".join(f"{low}–{high}" for low, high in wishes.breaks)
        said.append(BREAKS.format(spans=spans) if spans else NO_BREAK)
    if wishes.workers is not None:
        said.append(HANDS.get(wishes.workers, MORE_HANDS).format(count=wishes.workers))
    if wishes.frames is not None:
        said.append(FRAMES.format(count=wishes.frames))
    if wishes.boxes is not None:
        said.append(BOXES.format(count=wishes.boxes))
    if wishes.cameras is not None:
        said.append(CAMERAS.format(count=wishes.cameras))
    if wishes.lamp is not None:
        said.append(LAMP.format(lamp=wishes.lamp.words))
    if wishes.polished is not None:
        said.append(POLISHED.format(count=wishes.polished))
    if wishes.seal_later is not None:
        said.append(SEALED[wishes.seal_later])
    if wishes.pose_under is not None:
        said.append(POSE.format(minutes=wishes.pose_under))
    if wishes.sitters:
        said.append(SITTERS.format(sitters=", ".join(_sitter(one) for one in wishes.sitters)))
    return ONLY_TODAY.format(wishes="; ".join(said)) if said else ""


def _sitter(sitter: Sitter) -> str:
    return f"{sitter.time} {sitter.name}".strip()
