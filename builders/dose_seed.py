"""Derive the trade's starting dose of development light from the makers' notes behind it.

Run from anywhere: ``python builders/dose_seed.py`` prints the working; with ``--check`` it ends
with 1 unless `trade/data` holds what comes out. Nobody has published a dose in physical units, so
each note's minutes are multiplied by the light its maker may have had. That light is a range, told
in stops, and a note counts by the inverse square of its doubt: the sun over a frame is known to a
stop, a lamp "at about a foot" to three. How fast a lamp's plates were cannot say more of the sun.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from math import exp, hypot, log, log2, pi, sqrt

import numpy as np

from argentry import trade
from argentry.physics.lights.bands import development_band
from argentry.physics.lights.lamp import black_body_spectrum
from argentry.physics.lights.light import on_plane
from argentry.physics.lights.sky import Atmosphere, clear_sky
from argentry.physics.stops import Z80, spread

WIDTH = 2.0 * Z80  # of a range that holds four of five, in standard deviations


@dataclass(frozen=True)
class Note:
    """A maker's note: how long plates lay under the red filter, and in what light.

    Attributes
    ----------
    name : str
        Who and when.
    minutes : tuple of float
        Shortest and longest told. [min]
    light : tuple of float
        Least and most light behind the filter that the note allows. [W/m2]
    scatter_stops : float
        Of the middle of the minutes, from plate to plate. [stops]
    """

    name: str
    minutes: tuple[float, float]
    light: tuple[float, float]
    scatter_stops: float

    @property
    def dose_kj_m2(self) -> float:
        """Geometric middle. [kJ/m2]."""
        return 0.06 * sqrt(self.minutes[0] * self.minutes[1] * self.light[0] * self.light[1])

    @property
    def doubt_stops(self) -> float:
        """Standard deviation. [stops]."""
        return hypot(log2(self.light[1] / self.light[0]) / WIDTH, self.scatter_stops)


def sunlight_w_m2(elevation_deg: float, plane: str, cut_on_nm: float | None = None) -> float:
    """Light behind the filter under a clear sky, of the project's own model. [W/m2]."""
    cut = trade.value("light", "filter_cut_on") if cut_on_nm is None else cut_on_nm
    height = np.array([elevation_deg])
    sky = clear_sky(height, np.ones(1), development_band(cut), Atmosphere())
    albedo = trade.value("light", "ground_albedo")
    return float(on_plane(sky, height, plane, albedo=albedo)[0])


def lamp_w_m2(power_w: float, metres: float, kelvin: float, gain: float) -> float:
    """Light of a glowing wire behind the filter: the red share of g P / (4 pi r^2). [W/m2]."""
    band = development_band(trade.value("light", "filter_cut_on"))
    spectrum = black_body_spectrum(band.wavelength_nm, kelvin)
    share = float(np.trapezoid(spectrum * band.weight, band.wavelength_nm))
    radiated = trade.value("development", "halogen_radiated") * power_w
    return gain * radiated * share / (4.0 * pi * metres**2)


def notes() -> tuple[Note, ...]:
    """The notes, each with the least and the most light that its words allow."""
    return (
        Note(
            "Sun, 60 to 90 min (alternativafotografica, 2009)",
            (60.0, 90.0),
            # from a frame laid level under a sun 40 degrees high to one facing a sun of 60 degrees
            (sunlight_w_m2(40.0, "horizontal"), sunlight_w_m2(60.0, "sun")),
            log2(90.0 / 60.0) / WIDTH,
        ),
        Note(
            "200 W lamp at about a foot, 3 h and 5.5 h (J. A. Lewis, 2008)",
            (180.0, 330.0),
            # from a bare household bulb a fifth farther to a halogen reflector a fifth nearer
            (lamp_w_m2(200.0, 0.366, 2700.0, 1.0), lamp_w_m2(200.0, 0.244, 3000.0, 4.0)),
            log2(330.0 / 180.0) / sqrt(2.0) / sqrt(2.0),  # of two plates, and of their mean
        ),
    )


# Reflector floodlights as measured (photometric files of C. & G. Carandini TST-604/A, TST-604/Q and
# QSA-5, as tabulated at https://amper.ped.muni.cz/light/ies2/EasyLight-SaveTheSky/htm/): light
# straight ahead and where it is strongest, per 1000 lm of the lamp [cd]. A matt mouth that loses
# nothing has 1000 / pi ahead. How a maker turns his lamp to the plate is not known.
FLOODS = ((237.0, 744.0), (169.0, 476.0), (184.0, 654.0))
REDDER_STOPS = 0.25 / WIDTH  # 2800 to 3200 K move the red share by a quarter of a stop


@dataclass(frozen=True)
class Lamps:
    """What is known of the light of halogen lamps in reflectors, over that of a matt mouth.

    Attributes
    ----------
    middle_stops : float
        Before the lamp notes. [stops]
    common_stops, each_stops : float
        Doubt of all such lamps together, and between one and the next. [stops]
    """

    middle_stops: float
    common_stops: float
    each_stops: float


def lamps() -> Lamps:
    """Take four in five from the weakest floodlight straight ahead to the strongest light of all.

    From lamp to lamp they differ as floodlights do where each is strongest; the rest is common, as
    how makers turn their lamps.
    """
    ahead, most = ([log2(one * pi / 1000.0) for one in way] for way in zip(*FLOODS, strict=True))
    radiated = trade.facts("development")["halogen_radiated"]
    electric = hypot(log2(radiated.high / radiated.low) / WIDTH, REDDER_STOPS)
    whole = hypot((max(most) - min(ahead)) / WIDTH, electric)
    each = hypot(float(np.std(most, ddof=1)), electric)
    return Lamps((max(most) + min(ahead)) / 2.0, sqrt(whole**2 - each**2), each)


@dataclass(frozen=True)
class LampNote:
    """A maker's note of how long plates lay under a halogen lamp.

    Attributes
    ----------
    name : str
        Who and when.
    minutes : tuple of float
        Shortest and longest told. [min]
    power_w : float
        Electrical. [W]
    metres : tuple of float
        Nearest and farthest that the note allows. [m]
    scatter_stops : float
        Of the middle of the minutes, from plate to plate. [stops]
    """

    name: str
    minutes: tuple[float, float]
    power_w: float
    metres: tuple[float, float]
    scatter_stops: float

    def gain_stops(self, dose_kj_m2: float) -> float:
        """Gain that the lamp had, if its plates needed this dose. [stops over a matt mouth]."""
        matt = lamp_w_m2(self.power_w, sqrt(self.metres[0] * self.metres[1]), 3000.0, 4.0)
        return log2(dose_kj_m2 / (0.06 * sqrt(self.minutes[0] * self.minutes[1]) * matt))

    def doubt_stops(self, each_stops: float) -> float:
        """Standard deviation of that gain for what all such lamps have in common. [stops]."""
        away = 2.0 * log2(self.metres[1] / self.metres[0]) / WIDTH
        return hypot(away, self.scatter_stops, each_stops)


def lamp_notes() -> tuple[LampNote, ...]:
    """The notes of halogen lamps.

    The page of the sun note gives the same minutes for a lamp of 500 W and no distance. Nearer than
    `nearest_m` no fan keeps its plate cool; two feet are taken as the farthest, as each doubling
    takes four times as long (judged).
    """
    sun, lamp = notes()
    return (
        LampNote(lamp.name, lamp.minutes, 200.0, (0.305 / 1.2, 0.305 * 1.2), lamp.scatter_stops),
        LampNote(
            "500 W lamp, 60 to 90 min (the sun note's page)",
            sun.minutes,
            500.0,
            (nearest_m(500.0), 0.61),
            sun.scatter_stops,
        ),
    )


def nearest_m(power_w: float) -> float:
    """How near a lamp's matt mouth a fan still keeps the plate cool, in a room of 20 C. [m]."""
    facts = trade.facts("development")
    warmer = facts["warmest_plate"].value - 20.0
    most_w_m2 = warmer * facts["heat_transfer"].high / facts["heat_absorbed"].value
    return sqrt(facts["halogen_radiated"].value * power_w / (pi * most_w_m2))


def lamp_seed() -> tuple[float, float, float]:
    """What is believed of halogen lamps after the lamp notes: gain, its doubt, the notes' share.

    A normal update: what plates need over the minutes they lay under a lamp is what it must have
    gained; each is one of many. The notes tie light and dose: plates that need more than the
    trade's dose make them say more of the lamps, so that the gain goes with this share of the dose.
    The doubt is that of the gain where the dose is known; that of the dose counts in the minutes by
    what the share leaves of it, and once only. That a lamp was a bare bulb is left out: the first
    note's would have taken a day.
    """
    before, dose = lamps(), seed().dose_kj_m2
    prior = before.common_stops**-2
    told = [
        (one.gain_stops(dose), one.doubt_stops(before.each_stops) ** -2) for one in lamp_notes()
    ]
    worth = sum(sure for _, sure in told)
    stops = prior * before.middle_stops + sum(seen * sure for seen, sure in told)
    gain = 2.0 ** (stops / (prior + worth))
    return gain, hypot((prior + worth) ** -0.5, before.each_stops), worth / (prior + worth)


@dataclass(frozen=True)
class Seed:
    """What comes out.

    Attributes
    ----------
    dose_kj_m2 : float
        Weighted geometric mean of the notes. [kJ/m2]
    notes_stops, filter_stops, plate_stops, sigma_stops : float
        Doubt left by the notes, by the filter's edge (common to all of them), from plate to plate,
        and all three together. [stops]
    minutes : tuple of float
        Low, middle and high length in the light of the sun note. [min]
    """

    dose_kj_m2: float
    notes_stops: float
    filter_stops: float
    plate_stops: float
    sigma_stops: float
    minutes: tuple[float, float, float]


def seed() -> Seed:
    """Weigh the notes."""
    told = notes()
    weights = [one.doubt_stops**-2 for one in told]
    logs = [log(one.dose_kj_m2) for one in told]
    dose = exp(sum(w * x for w, x in zip(weights, logs, strict=True)) / sum(weights))
    cut = trade.facts("light")["filter_cut_on"]
    edges = [sunlight_w_m2(60.0, "sun", one) for one in (cut.low, cut.high)]
    parts = (
        sum(weights) ** -0.5,
        log2(edges[0] / edges[1]) / WIDTH,
        trade.value("decide", "end_point_log_sd") / log(2.0),
    )
    sigma = hypot(*parts)
    low, _, high = spread(dose, sigma).tolist()
    least, most = told[0].light
    middle = sqrt(least * most)
    return Seed(dose, *parts, sigma, (low / 0.06 / most, dose / 0.06 / middle, high / 0.06 / least))


def expected() -> dict[str, float]:
    """The figures of `trade/data`, rounded as they are written there."""
    found = seed()
    dose = float(round(found.dose_kj_m2, -1))
    low, _, high = spread(dose, round(found.sigma_stops, 2)).tolist()
    return {
        "dose": dose,
        "dose low": float(round(low, -1)),
        "dose high": float(round(high, -1)),
        "dose_sigma": round(found.sigma_stops, 2),
        "halogen_gain": round(lamp_seed()[0], 2),
        "halogen_sigma": round(lamp_seed()[1], 2),
        "halogen_log_share": round(lamp_seed()[2], 2),
        "low_minutes": 5.0 * round(found.minutes[0] / 5.0),
        "typical_minutes": 5.0 * round(found.minutes[1] / 5.0),
        "high_minutes": 5.0 * round(found.minutes[2] / 5.0),
    }


def stated() -> dict[str, float]:
    """The same figures as `trade/data` has them."""
    fact = trade.facts("development")["dose"]
    step = next(one for one in trade.toml("steps")["step"] if one["key"] == "develop")
    return {
        "dose": fact.value,
        "dose low": fact.low,
        "dose high": fact.high,
        **{
            key: trade.value("development", key)
            for key in ("dose_sigma", "halogen_gain", "halogen_sigma", "halogen_log_share")
        },
        **{f"{one}_minutes": step[f"{one}_minutes"] for one in ("low", "typical", "high")},
    }


def main() -> int:
    """Print the working; compare with the data when asked."""
    for lamp in lamp_notes():
        print(
            f"{lamp.name}: a gain of {2.0 ** lamp.gain_stops(seed().dose_kj_m2):.2f} "
            f"within {lamp.doubt_stops(lamps().each_stops):.2f} stops"
        )
    for one in notes():
        print(
            f"{one.name}: {one.light[0]:.1f} to {one.light[1]:.1f} W/m2, "
            f"{one.dose_kj_m2:.0f} kJ/m2 within {one.doubt_stops:.2f} stops"
        )
    found = seed()
    print(
        f"doubt: notes {found.notes_stops:.2f}, filter {found.filter_stops:.2f}, "
        f"plate to plate {found.plate_stops:.2f}, together {found.sigma_stops:.2f} stops"
    )
    wanted, have = expected(), stated()
    for key, value in wanted.items():
        mark = "" if have[key] == value else f"   <- trade/data has {have[key]:g}"
        print(f"{key:16s} {value:g}{mark}")
    return int("--check" in sys.argv and wanted != have)


if __name__ == "__main__":
    raise SystemExit(main())
