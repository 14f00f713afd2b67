"""The truth of an invented studio, in forms other than the program's: the maker never sees it.

Light falls by one extinction through an air mass of 1/sin(height), the box follows one exponential,
and things go wrong by fixed odds. Only the scale of each is tied to what the program believes at
noon, so that "the box takes a quarter longer than believed" is a fact of this world.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from datetime import timedelta

BOX_FACTOR = 1.25  # true seconds over iodine against those believed
SLOWER_STOPS = 0.6  # the plates need so much more light than believed
DOSE_FACTOR = 1.2  # and so much more development
LATITUDE, LONGITUDE = 42.0, -1.0
VIOLET, RED = 0.49, 0.156  # extinction of exposure and development light by one air mass (invented)
STEP = timedelta(minutes=1)

# Odds that a stage goes wrong, and the defect the maker then sees.
FAULTS = {
    "polish": (0.05, "scratches"),
    "coat": (0.05, "iodine_streaks"),
    "development": (0.04, "fog"),
    "finish": (0.08, "gilding_stain"),
}


def sun_height(moment):
    """Height of the sun in radians, by Cooper's declination (Solar Energy 12, 1969)."""
    day = moment.timetuple().tm_yday
    tilt = math.radians(23.45 * math.sin(math.radians(360 * (284 + day) / 365)))
    hour = moment.hour + moment.minute / 60 + moment.second / 3600 + LONGITUDE / 15  # moment is UTC
    turn, place = math.radians(15 * (hour - 12)), math.radians(LATITUDE)
    sine = math.sin(place) * math.sin(tilt) + math.cos(place) * math.cos(tilt) * math.cos(turn)
    return math.asin(sine)


def light(moment, extinction):
    """Light against that of a sun overhead."""
    sine = math.sin(sun_height(moment))
    return 0.0 if sine < 0.02 else math.exp(extinction * (1.0 - 1.0 / sine))


@dataclass(frozen=True)
class Fate:
    """What becomes of one passage of a plate, whatever the maker does."""

    coats_spoilt: int  # coats that fail before one succeeds
    faults: dict  # stage: defect
    ruined: bool  # a fault of this passage leaves no picture to keep
    plate_stops: float  # this plate against the others
    eye: float  # how far off the end point it was taken out, as a factor
    coat: float  # thickness against the wanted one


class World:
    """Holds the truth.

    Attributes
    ----------
    believed : dict
        What the program believes at `noon`: ``fume_s`` at 20 °C, ``camera_s``, ``ripe_s``.
    """

    def __init__(self, believed, noon):
        self.believed, self.noon = believed, noon

    def coat_seconds(self, box_c):
        return BOX_FACTOR * self.believed["fume_s"] * math.exp(-0.088 * (box_c - 20.0))

    def camera_seconds(self, moment):
        weaker = light(moment, VIOLET) / light(self.noon, VIOLET)
        return 2.0**SLOWER_STOPS * self.believed["camera_s"] / weaker

    def ripe_seconds(self, start):
        full = RED, self.noon
        wanted, had, at = DOSE_FACTOR * self._dose(full[1], self.believed["ripe_s"]), 0.0, start
        while had < wanted:
            had += light(at, RED) * STEP.total_seconds()
            at += STEP
        return (at - start).total_seconds()

    def _dose(self, start, seconds):
        minutes = range(int(seconds // 60))
        return sum(60.0 * light(start + n * STEP, RED) for n in minutes)

    def verdict(self, stops):
        """How an exposure is judged, from the light it had against what it needed."""
        bounds = ((-1.8, "blank"), (-0.5, "under"), (0.5, "right"), (1.6, "over"))
        return next((word for bound, word in bounds if stops < bound), "solarised")

    def fate(self, label, passage):
        draw = random.Random(f"{label}/{passage}/an invented world, 3")
        faults = {stage: look for stage, (odds, look) in FAULTS.items() if draw.random() < odds}
        return Fate(
            coats_spoilt=int(draw.random() < 0.12) + int(draw.random() < 0.03),
            faults=faults,
            ruined=draw.random() < 0.6,
            plate_stops=draw.gauss(0.0, 0.15),
            eye=math.exp(draw.gauss(0.0, 0.06)),
            coat=math.exp(draw.gauss(0.0, 0.03)),
        )

    def room(self, day):
        """Air and box of one day: °C, %, °C."""
        draw = random.Random(f"room {day}")
        air = round(draw.uniform(18.0, 23.0), 1)
        return air, round(draw.uniform(40.0, 60.0)), round(air + draw.uniform(-0.5, 0.5), 1)
