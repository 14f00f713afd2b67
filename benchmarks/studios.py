"""Invented studios with hidden causes, to judge what learning finds; no figure is printed here.

Everything is an assumption of the simulation and none a fact of the trade. It is kept apart from
the models it judges: harm comes as steps, bends and saturation of raw readings, never as a straight
probit; luck is heavy-tailed and remembers the last session; what a fault is put down to follows
from asking whether it would have happened without that cause; links between causes and looks are
drawn again for each studio around the trade's words, with slips of the pen.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field

import numpy as np

from argentry.records.ids import make_id
from argentry.records.plate import STAGES, Making
from argentry.trade.causes import known_causes

# How each hidden cause works: the reading (or word) that drives it and its bad side.
DRIVERS = {
    "short_buff": ("buff_minutes", "low"),
    "thin_silver": ("times_repolished", "high"),
    "damp_air": ("room_rh_pct", "high"),
    "dew": ("dew_margin", "low"),
    "coat_thin": ("coat_nm", "low"),
    "coat_thick": ("coat_nm", "high"),
    "box_not_full": ("box_rest_minutes", "low"),
    "too_little_light": ("stops", "low"),
    "too_much_light": ("stops", "high"),
    "long_wait": ("coat_to_exposure_minutes", "high"),
    "movement": ("exposure_seconds", "high"),
    "frame_leak": ("frame", "C"),
    "unripe": ("development_minutes", "low"),
    "left_too_long": ("development_minutes", "high"),
    "latent_fading": ("exposure_to_development_minutes", "high"),
    "tired_fixer": ("fixer_plates", "high"),
    "salty_water": ("water_us_cm", "high"),
    "old_gold": ("gold_age_hours", "high"),
    "long_gilding": ("gilding_minutes", "high"),
}
FAULTS = {"polish": 0.12, "coat": 0.10, "exposure": 0.12, "development": 0.07, "finish": 0.06}
MAIN_FAULTS = 0.33  # at the stage of the main cause: about half of all plates succeed
KNOWN = {cause.key: cause for cause in known_causes()}
VERDICTS = {"low": "under", "high": "over"}


@dataclass(frozen=True)
class Truth:
    """What really happened.

    Attributes
    ----------
    main : str or None
        The main cause, or None in a studio without any.
    minor : Mapping[str, float]
        Lesser causes and the spread of their harm. [probit]
    causes_of : tuple of tuple of str
        For each plate what spoilt it, in the order of the stages; empty when nothing did. What no
        reading drove is an accident, with the look of a cause that works through no condition.
    chance_ok : NDArray (plates, stages)
        Chance that each stage would come out ok, given all hidden things but the last luck.
    sound : NDArray (plates, stages)
        Whether it did.
    """

    main: str | None
    minor: dict[str, float]
    causes_of: tuple[tuple[str, ...], ...]
    chance_ok: np.ndarray
    sound: np.ndarray
    links: dict[str, dict[str, float]] = field(repr=False, default_factory=dict)


def simulate_studio(
    rng: np.random.Generator,
    plates: int,
    main_cause: str | None = "any",
    effect: float = 0.8,
    *,
    missing: float = 0.2,
    wrong_stage: float = 0.1,
    looks: float = 0.75,
    causes: bool = True,
) -> tuple[list[Making], Truth]:
    """Return the log of one studio and the truth behind it.

    Parameters
    ----------
    rng : Generator
        Source of all chance.
    plates : int
        How many.
    main_cause : str or None
        A key of `DRIVERS`; ``"any"`` draws one, two times in three among the common ones; None:
        there is no main one.
    effect : float
        Spread of the main cause's harm over the plates of the studio, in units of the luck's own
        standard deviation (for a straight line: probit units per sd of the reading).
    missing : float
        Share of readings never written down.
    wrong_stage : float
        Share of faults booked on a wrong stage.
    looks : float
        Share of defects written down.
    causes : bool
        False: no reading does any harm at all.

    Returns
    -------
    tuple of (list of Making, Truth)
        In order of time.
    """
    main = _draw_main(rng) if main_cause == "any" else main_cause
    session, day, order = _calendar(rng, plates)
    values = _readings(rng, session, day, order)
    minor = _draw_minor(rng, main) if causes else {}
    strength = ({main: effect} if main and causes else {}) | minor
    harm = {key: size * _harm(rng, *DRIVERS[key], values) for key, size in strength.items()}
    links = _links(rng)
    sound, chance_ok, guilty = _stages(rng, session, harm, main if causes else None)
    makings, causes_of = [], []
    for i in range(plates):
        making, cause = _book(
            rng, i, (session, day, order), values, sound[i], [g[i] for g in guilty], links,
            missing=missing, wrong_stage=wrong_stage, looks=looks,
        )  # fmt: skip
        makings.append(making)
        causes_of.append(cause)
    truth = Truth(main if causes else None, minor, tuple(causes_of), chance_ok, sound, links)
    return makings, truth


def _draw_main(rng):
    common = [k for k in DRIVERS if KNOWN[k].prior >= 0.06]
    rest = [k for k in DRIVERS if k not in common]
    return str(rng.choice(common if rng.random() < 2 / 3 else rest))


def _draw_minor(rng, main):
    keys = [k for k in DRIVERS if k != main]
    chosen = rng.choice(keys, size=3, replace=False)
    same = {DRIVERS[main][0]} if main else set()
    return {
        str(k): float(rng.uniform(0.15, 0.35)) for k in chosen if DRIVERS[str(k)][0] not in same
    }


def _calendar(rng, plates):
    session, order, day = [], [], []
    date, number = dt.date(2024, 1, 6), 0
    while len(session) < plates:
        count = int(rng.choice([1, 2, 3, 4], p=[0.2, 0.35, 0.3, 0.15]))
        for k in range(min(count, plates - len(session))):
            session.append(number)
            order.append(k + 1)
            day.append(date)
        number += 1
        date += dt.timedelta(days=int(rng.integers(3, 11)))
    return np.array(session), day, np.array(order)


def _wander(rng, sessions, memory, spread):
    """Return a value by session that remembers the last one."""
    out, now = np.zeros(sessions), rng.normal()
    for k in range(sessions):
        now = memory * now + np.sqrt(1 - memory**2) * rng.normal()
        out[k] = now
    return out * spread


def _readings(rng, session, day, order):
    n, sessions = session.size, int(session.max()) + 1
    season = np.sin(2 * np.pi * (np.array([d.timetuple().tm_yday for d in day]) - 110) / 365)

    def by_day(memory, spread):
        return _wander(rng, sessions, memory, spread)[session]

    cloud = np.clip(np.round(4 - season + by_day(0.3, 2.5) + rng.normal(0, 0.7, n)), 0, 8)
    room = 18 + 5 * season + by_day(0.4, 1.5) + rng.normal(0, 0.5, n)
    damp = np.clip(
        47 + 6 * season + 0.9 * (cloud - 4) + by_day(0.5, 8) + rng.normal(0, 2, n), 20, 92
    )
    box = room - 0.5 + rng.normal(0, 1.0, n)
    plate = 25 + rng.normal(0, 3, n)
    dew_point = room - (100 - damp) / 5  # a rule of thumb is enough here
    rest = np.where(order == 1, rng.lognormal(5.8, 0.5, n), rng.lognormal(3.7, 0.6, n))
    warm = 0.094 * (box - 20)  # log of iodine's pressure against 20 degrees
    seconds = 60 * np.exp(rng.normal(0, 0.22, n) - 0.7 * warm + by_day(0.6, 0.1))
    full = 1 - np.exp(-rest / 12)
    nm = 25 * seconds / 60 * np.exp(warm) * full * np.exp(rng.normal(0, 0.08, n))
    ev = 14.8 - 0.4 * cloud + season + rng.normal(0, 0.5, n)
    stops = by_day(0.7, 0.45) + rng.normal(0.0, 0.75, n)  # what the plate lacked or had too much
    drift = by_day(0.8, 0.3)  # speed of the plates, which nobody sees
    shown = 100 * 16 / (2.4e-4 * 2.0**ev) * 2.0 ** (stops + drift)
    start = np.clip(10 + 1.3 * order + rng.normal(0, 0.8, n), 8, 17)
    ripe = 120 * 2.0 ** (0.18 * (cloud - 4) + rng.normal(0, 0.35, n))
    age, through = _bath(rng, session, day, 16, 26)
    water = np.exp(np.log(4) + by_day(0.75, 0.6) + rng.normal(0, 0.1, n))
    return {
        "buff_minutes": np.round(20 * np.exp(rng.normal(0, 0.35, n) + by_day(0.3, 0.15))),
        "times_repolished": rng.poisson(2.0, n).astype(float),
        "room_c": room.round(1),
        "room_rh_pct": damp.round(0),
        "plate_c": plate.round(1),
        "box_c": box.round(1),
        "box_rest_minutes": rest.round(0),
        "fuming_seconds": seconds.round(0),
        "coat_nm": nm.round(1),
        "dew_margin": plate - dew_point,
        "cloud_okta": cloud,
        "meter_ev": ev.round(1),
        "f_number": np.full(n, 4.0),
        "stops": stops,
        "exposure_seconds": np.clip(shown, 1, 20000).round(0),
        "coat_to_exposure_minutes": rng.lognormal(3.2, 0.7, n).round(0),
        "exposure_to_development_minutes": rng.lognormal(2.7, 0.8, n).round(0),
        "start_hour": start,
        "development_minutes": ripe.round(0),
        "frame": rng.choice(["A", "B", "C"], n),
        "fixer_age_days": age,
        "fixer_plates": through,
        "water_us_cm": water.round(1),
        "gold_age_hours": np.exp(np.log(8) + by_day(0.2, 0.8) + rng.normal(0, 0.2, n)).round(1),
        "gilding_minutes": np.exp(np.log(3) + rng.normal(0, 0.3, n)).round(1),
        "drying": rng.choice(["flame", "hot plate", "rack"], n, p=[0.6, 0.3, 0.1]),
        "sealed_same_day": rng.choice(["yes", "no"], n, p=[0.85, 0.15]),
        "shelf lamp lx": np.exp(rng.normal(3, 0.4, n)).round(0),  # a column of the maker's own
        "helper": rng.choice(["alone", "with help"], n, p=[0.7, 0.3]),  # another
    }


def _bath(rng, session, day, days, plates):
    age, through = np.zeros(session.size), np.zeros(session.size)
    mixed, count = day[0], 0
    limit, most = rng.uniform(0.6, 1.6) * days, rng.uniform(0.6, 1.4) * plates
    for i in range(session.size):
        if i and session[i] != session[i - 1] and ((day[i] - mixed).days > limit or count > most):
            mixed, count = day[i], 0
            limit, most = rng.uniform(0.6, 1.6) * days, rng.uniform(0.6, 1.4) * plates
        age[i], through[i] = (day[i] - mixed).days, count
        count += 1
    return age, through


def _harm(rng, reading, side, values):
    """Return the harm of each plate, mean 0 and spread 1, bent in one of four ways."""
    raw = values[reading]
    if raw.dtype.kind in "US":
        bad = (raw == side).astype(float)
    else:
        bad = raw if side == "high" else -raw
        low, middle, high = np.quantile(bad, [0.1, rng.uniform(0.45, 0.75), 0.9])
        span = max(high - low, 1e-6)
        bad = [
            lambda: 1 / (1 + np.exp(-(bad - middle) / (0.12 * span))),  # a soft step
            lambda: np.maximum(0.0, bad - np.quantile(bad, 0.4)),  # nothing up to a bend
            lambda: 1 - np.exp(-np.maximum(0.0, bad - low) / (0.5 * span)),  # soon at its worst
            lambda: (np.argsort(np.argsort(bad)) / bad.size) ** 2.0,  # by rank, bent upwards
        ][int(rng.integers(4))]()
    spread = bad.std()
    if spread == 0:
        return np.zeros(bad.size)
    bad = np.clip((bad - bad.mean()) / spread, -3, 3)  # no plate is worse than utterly spoilt
    return (bad - bad.mean()) / bad.std()


def _stages(rng, session, harm, main):
    n = session.size
    sound, chance = np.ones((n, 5), bool), np.ones((n, 5))
    guilty = []
    for s, stage in enumerate(STAGES):
        here = {k: h for k, h in harm.items() if KNOWN[k].stage == stage}
        total = sum(here.values(), np.zeros(n)) + _wander(rng, session.max() + 1, 0.5, 0.3)[session]
        rate = MAIN_FAULTS if main and KNOWN[main].stage == stage else FAULTS[stage]
        luck = rng.standard_t(6, n) / np.sqrt(6 / 4)  # spread 1, heavier tails than the normal's
        tail = np.sort(rng.standard_t(6, 20000) / np.sqrt(6 / 4))

        def share(limit, total=total, tail=tail):
            return 1 - np.searchsorted(tail, limit - total) / tail.size

        low, high = -6.0, 6.0
        for _ in range(40):
            middle = (low + high) / 2
            low, high = (middle, high) if share(middle).mean() > rate else (low, middle)
        chance[:, s] = 1 - share(low)
        fault = total + luck > low
        sound[:, s] = ~fault
        names = np.where(fault, "chance", "")
        names = names.astype("U24")
        for key, h in sorted(here.items(), key=lambda item: item[1].std()):  # the main one last
            without = total - (h - np.quantile(h, 0.1)) + luck
            names[fault & (without <= low)] = key
        guilty.append(names)
    return sound, chance, guilty


def _links(rng):
    """Return this studio's true links: the trade's words, each off by some."""
    return {
        key: {d: float(rng.beta(6 * w, 6 * (1 - w))) for d, w in cause.links.items()}
        for key, cause in KNOWN.items()
    }


def _book(rng, i, when, values, sound, guilty, links, *, missing, wrong_stage, looks):
    session, day, order = when
    reached, faults, causes = [], [], []
    for s, stage in enumerate(STAGES):
        if s == 2 and faults and rng.random() < 0.35:
            break  # seen before the camera, and stopped
        if s == 4 and faults and rng.random() < 0.8:
            break  # seen once developed
        reached.append(stage)
        if not sound[s]:
            faults.append((stage, guilty[s]))
    booked = dict.fromkeys(reached, "ok")
    defects: list[tuple[str, str]] = []
    verdict = "right" if "development" in reached else None
    for stage, driver in faults:
        where = str(rng.choice(reached)) if rng.random() < wrong_stage else stage
        booked[where] = "fault"
        key, seen, found = _look(rng, stage, driver, links)
        causes.append(key)
        verdict = found or verdict
        defects += [(d, where) for d in seen if rng.random() < looks]
    grade = None
    if faults:
        grade = "lost" if rng.random() < 0.7 or len(faults) > 1 else "study"
    elif len(reached) == 5:
        grade = "fine" if rng.random() < 0.25 else "good"
    identity = make_id(1_700_000_000_000 + i * 60_000, int(rng.integers(0, 2**62)))
    return Making(
        id=identity, plate=f"P{i + 1:03d}", run=None, session=str(session[i] + 1),
        order=int(order[i]), day=day[i],
        conditions=_written(rng, values, i, reached, day[i], missing),
        stages=booked, verdict=verdict if "development" in reached else None, grade=grade,
        defects=tuple(dict.fromkeys(defects)),
    ), tuple(causes)  # fmt: skip


def _look(rng, stage, key, links):
    """Return what made a fault, the defects it shows, and what the exposure looks like."""
    here = [k for k, c in KNOWN.items() if c.stage == stage]
    all_looks = sorted({d for k in here for d in KNOWN[k].links})
    if key == "chance":  # anything of this stage, mostly what no reading would tell
        key = str(rng.choice([k for k in here if not KNOWN[k].through] or here))
    seen = [d for d, w in links[key].items() if rng.random() < w]
    seen = [str(rng.choice(all_looks)) if rng.random() < 0.1 else d for d in seen]  # misread
    if rng.random() < 0.1:
        seen.append(str(rng.choice(all_looks)))
    verdicts = KNOWN[key].verdicts
    return key, seen, verdicts[0] if verdicts and rng.random() < 0.6 else None


def _written(rng, values, i, reached, day, missing):
    last = {"polish": "buff_minutes times_repolished", "coat": "room_c room_rh_pct plate_c box_c "
            "box_rest_minutes fuming_seconds coat_nm", "exposure": "cloud_okta meter_ev f_number "
            "exposure_seconds coat_to_exposure_minutes", "development": "exposure_to_development_"
            "minutes frame", "finish": "fixer_age_days fixer_plates water_us_cm gold_age_hours "
            "gilding_minutes drying sealed_same_day"}  # fmt: skip
    out = {}
    for stage in reached:
        for name in last[stage].split():
            if rng.random() >= missing:
                value = values[name][i]
                out[name] = str(value) if isinstance(value, str) else float(value)
    for name in ("shelf lamp lx", "helper"):
        if rng.random() >= missing:
            value = values[name][i]
            out[name] = str(value) if isinstance(value, str) else float(value)
    if "development" in reached:
        start = dt.datetime.combine(day, dt.time(0), dt.UTC) + dt.timedelta(
            minutes=round(float(values["start_hour"][i]) * 60)
        )
        end = start + dt.timedelta(minutes=float(values["development_minutes"][i]))
        out["development_start"], out["development_end"] = start.isoformat(), end.isoformat()
    return out
