"""Where values and hours stand on a drawing."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

from argentry.out.wording import later, minutes_between


@dataclass(frozen=True)
class Axis:
    """A straight axis.

    Attributes
    ----------
    low, high : float
        Its ends.
    left, right : float
        Where they are drawn. [px]
    """

    low: float
    high: float
    left: float
    right: float

    def at(self, value: float) -> float:
        """Return where a value is drawn; one beyond the ends at the end. [px]."""
        return self.beyond(min(max(value, self.low), self.high))

    def beyond(self, value: float) -> float:
        """Return where a value would be drawn, beyond the ends too. [px]."""
        share = (value - self.low) / ((self.high - self.low) or 1.0)
        return self.left + share * (self.right - self.left)


def round_steps(top: float, most: int = 2) -> list[float]:
    """Return zero and up to `most` round values evenly spaced below `top`."""
    if not top > 0:
        return [0.0]
    rough = top / most
    size = 10.0 ** math.floor(math.log10(rough))
    step = next(part * size for part in (1.0, 2.0, 2.5, 5.0, 10.0) if part * size >= rough * 0.75)
    return [place * step for place in range(int(top / step) + 1)]


@dataclass(frozen=True)
class Frame:
    """The drawn part of a day, in real minutes.

    Attributes
    ----------
    left : datetime
        Left edge, in the zone whose hours are drawn.
    minutes : float
        Length. [min]
    width : float
        Width on the drawing. [px]
    """

    left: datetime
    minutes: float
    width: float

    @classmethod
    def around(cls, moments: list[datetime], width: float) -> Frame:
        """Return whole wall-clock hours around moments of one zone."""
        first = min(moments, key=lambda when: when.timestamp())
        last = max(moments, key=lambda when: when.timestamp())
        left = later(first, -(first.minute + first.second / 60.0 + first.microsecond / 6e7))
        into = last.minute + last.second / 60.0 + last.microsecond / 6e7
        right = later(last, (60.0 - into) % 60.0)
        return cls(left, max(60.0, minutes_between(left, right)), width)

    def at(self, when: datetime) -> float:
        """Return the place of `when` on the time axis, real minutes from the left edge, in min."""
        return minutes_between(self.left, when)

    def px(self, when: datetime) -> float:
        """Return the place of `when` on the page, in px."""
        return self.along(self.at(when))

    def along(self, minutes: float) -> float:
        """Return the length of real minutes on the page, in px."""
        return minutes / self.minutes * self.width

    def hours(self) -> list[tuple[float, str]]:
        """Return each wall-clock hour: real minutes from the left edge, and its word.

        A skipped hour is absent and a repeated one stands twice, as on the studio's clock.
        """
        ticks = []
        for quarter in range(int(self.minutes // 15) + 1):
            when = later(self.left, 15.0 * quarter)
            if when.minute == 0:
                ticks.append((15.0 * quarter, f"{when:%H}"))
        return ticks

    def spaced(self, room: float) -> list[tuple[float, str]]:
        """Return as many of the hours as have `room` px each, evenly."""
        hours = self.hours()
        each = max(1, math.ceil(room * len(hours) / max(self.width, 1.0)))
        return hours[::each]
