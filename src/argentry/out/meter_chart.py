"""A light meter over a day, drawn: the stops to add for the plate and for the red frame."""

from __future__ import annotations

import math

from argentry.out.colours import HAIR, RED, SOFT, VIOLET
from argentry.out.drawing.axis import Axis, Frame
from argentry.out.drawing.svg import drawing, line, path, straight, text
from argentry.records.answers.meter import MeterStory

SIZE, LEFT, RIGHT, TOP, STOP = 12.0, 34.0, 14.0, 12.0, 30.0  # [px]; a stop is so high
LEAST = (-1.0, 2.0)  # stops that are always drawn
ROOM = 40.0  # of an hour's word. [px]
TITLE = "Stops to add to {meter} over {day}"
PLATE, FRAME = "before the camera", "red frame"


def meter_chart(story: MeterStory, width: float) -> str:
    """Return the stops to add over the day, for the plate in violet and the red frame in red."""
    plate = [hour.exposure_stops for hour in story.hours]
    frame = [hour.development_stops for hour in story.hours]
    low = min(LEAST[0], math.floor(min(*plate, *frame)))
    high = max(LEAST[1], math.ceil(max(*plate, *frame)))
    foot = TOP + STOP * (high - low)
    up = Axis(low, high, foot, TOP)
    across = Frame.around([hour.time for hour in story.hours], width - LEFT - RIGHT)
    parts = []
    for stops in range(round(low), round(high) + 1):
        y = up.at(stops)
        ink = SOFT if stops == 0 else HAIR
        parts.append(line((LEFT, y), (width - RIGHT, y), stroke=ink, width=0.75))
        word = f"{stops:+d}" if stops else "0"
        parts.append(text(LEFT - 8.0, y + 4.0, word, size=SIZE, anchor="end", fill=SOFT))
    for at, word in across.spaced(ROOM):
        x = LEFT + across.along(at)
        parts.append(text(x, foot + 18.0, word, size=SIZE, anchor="middle", fill=SOFT))
    middle = len(plate) // 2
    plate_above = plate[middle] >= frame[middle]
    for values, ink, name in ((plate, VIOLET, PLATE), (frame, RED, FRAME)):
        points = [
            (LEFT + across.px(hour.time), up.at(value))
            for hour, value in zip(story.hours, values, strict=True)
        ]
        parts.append(path(straight(points), stroke=ink, width=1.8))
        x, y = points[middle]
        lift = -8.0 if plate_above == (ink == VIOLET) else 18.0
        parts.append(text(x, y + lift, name, size=SIZE, anchor="middle", fill=ink))
    title = TITLE.format(meter=story.meter, day=story.date)
    return drawing(width, foot + 28.0, title, parts)
