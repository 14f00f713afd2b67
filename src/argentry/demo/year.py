"""The invented year, plate by plate: a maker at work, and the truth beside it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from argentry.demo import booking
from argentry.demo.chance import happens, normal, share
from argentry.demo.daily_light import LitSession, lit_sessions
from argentry.demo.days import Session, sessions
from argentry.demo.developing import FRAMES, develop
from argentry.demo.exposing import expose
from argentry.demo.finishing import Fixer, finish, fixer_of
from argentry.demo.plate_story import Done, Fault, Key, causes, fact, plain
from argentry.demo.preparing import blank_plate, coat, polish
from argentry.demo.studio import invented_studio
from argentry.exchange.plates.columns import column_names
from argentry.records.plate import GRADES, STAGES
from argentry.records.studio import Studio
from argentry.sky.place import resolve_place

LUNCH = (300, 360)  # 13:00 to 14:00, in minutes from 08:00 [min]
LIGHT_NEEDED = 190  # sun wanted after the start of polishing, or no plate is begun [min]
SCOUR, TO_FRAME, PATIENCE = 10, 6, 20  # [min]


@dataclass(frozen=True)
class Year:
    """The invented year.

    Attributes
    ----------
    rows : tuple of Mapping[str, str]
        One a plate: every column of the table, as written by the maker.
    truth : tuple of Mapping[str, Any]
        One a plate: what really happened.
    sessions : int
        Working days with at least one plate.
    """

    rows: tuple[Mapping[str, str], ...]
    truth: tuple[Mapping[str, Any], ...]
    sessions: int

    @property
    def grades(self) -> dict[str, int]:
        """Number of plates by grade, worst first."""
        found = [row["grade"] for row in self.rows]
        return {grade: found.count(grade) for grade in GRADES}

    @property
    def good_share(self) -> float:
        """Share of plates that came out good or fine."""
        return (self.grades["good"] + self.grades["fine"]) / len(self.rows)


@dataclass(frozen=True)
class Bench:
    """What lasts from plate to plate.

    Attributes
    ----------
    minute : int
        When hands are free, from 08:00. [min]
    box_opened : float
        When the iodine box was last opened. [min]
    learned_stops : float
        What the maker adds to the metered exposure after the verdicts so far. [stops]
    verdict : str
        The last verdict of the day.
    fixer : Fixer or None
        The bath in use.
    """

    minute: int = 0
    box_opened: float = -240.0
    learned_stops: float = 0.0
    verdict: str = ""
    fixer: Fixer | None = None


@dataclass(frozen=True)
class Work:
    """One plate through the stages it reached.

    Attributes
    ----------
    done : Mapping[str, Done]
        By stage, in order; a stage that is missing was not reached.
    coat_nm, stops : float
        True coat [nm] and exposure from the middle of right [stops].
    verdict : str
        Empty when it could not be judged.
    """

    done: Mapping[str, Done]
    coat_nm: float = 0.0
    stops: float = 0.0
    verdict: str = ""


def invented_year() -> Year:
    """Return the invented year, always the same."""
    studio = invented_studio(fact("believed_speed"))
    place = resolve_place(studio)
    days = sessions()
    frame = studio.frames[0]
    lights = lit_sessions(days, place, frame.cut_on_nm, frame.transmission)
    rows: list[dict[str, str]] = []
    truth: list[dict[str, Any]] = []
    bench, drift, used = Bench(), 0.0, 0
    for session, lit in zip(days, lights, strict=True):
        drift = fact("drift_memory") * drift + fact("drift_step") * normal(session.day, "drift")
        first = max(35, lit.beam_minutes[0]) + round(8 * normal(session.day, "start"))
        bench = replace(
            bench, minute=first, box_opened=-240.0, verdict="", fixer=fixer_of(session, bench.fixer)
        )
        begun = 0
        for number in range(session.plates):
            key: Key = (session.day, number)
            start = bench.minute if not LUNCH[0] - 45 < bench.minute < LUNCH[1] else LUNCH[1]
            if start + LIGHT_NEEDED > lit.beam_minutes[1] and not (begun == 0 and number == 0):
                break
            bench = replace(bench, minute=start)
            work, bench = _plate(studio, session, lit, bench, drift, number, key)
            begun += 1
            name = f"P{len(rows) + 1:03d}"
            head = {
                "plate": name,
                "date": session.day.isoformat(),
                "session": str(used + 1),
                "order": str(begun),
            }
            row, hidden = _written(head, work, key)
            rows.append(row)
            truth.append({**hidden, "speed_drift_stops": plain(drift)})
        used += begun > 0
        bench = replace(bench, learned_stops=_learned(bench))
    return Year(tuple(rows), tuple(truth), used)


def _learned(bench: Bench) -> float:
    """Return what the maker adds from the next session on: a third of a stop the other way."""
    step = {"blank": 0.5, "under": 1 / 3, "over": -1 / 3, "solarised": -0.5}.get(bench.verdict, 0.0)
    return min(max(0.95 * bench.learned_stops + step, -1.5), 1.5)


def _plate(
    studio: Studio,
    session: Session,
    lit: LitSession,
    bench: Bench,
    drift: float,
    number: int,
    key: Key,
) -> tuple[Work, Bench]:
    """Return one plate as far as it came, and the bench after it."""
    done: dict[str, Done] = {}
    done["polish"], buffed = polish(session, blank_plate(key), key)
    minute = bench.minute + SCOUR + buffed
    if _stopped(done["polish"], "seen_polish", key):
        return Work(done), replace(bench, minute=round(minute + 2))

    minute += 4.0
    done["coat"], coat_nm, took = coat(
        session,
        studio.boxes[0],
        studio.site.elevation_m,
        8.0 + minute / 60.0,
        minute - bench.box_opened,
        key,
    )
    minute = round(minute + took)
    bench = replace(bench, box_opened=float(minute))
    if _stopped(done["coat"], "seen_coat", key):
        return Work(done, coat_nm), replace(bench, minute=minute + 2)

    open_at = minute + 4 + int(2.0 ** (4.0 + 0.9 * normal(*key, "wait before exposure")))
    open_at = _steady(lit, _sunlit(lit, _after_lunch(open_at)))
    exposed = expose(
        lit,
        studio.lenses[0],
        studio.subject,
        minute=open_at,
        waited_minutes=float(open_at - minute),
        coat_nm=coat_nm,
        drift_stops=drift,
        learned_stops=bench.learned_stops,
        key=key,
    )
    done["exposure"] = exposed.done
    shut_at = open_at + exposed.minutes

    out_at = round(shut_at + TO_FRAME + 25.0 * share(*key, "wait before development") ** 3)
    frame = FRAMES[(session.number + number) % len(FRAMES)]
    developed = develop(
        session,
        lit,
        minute=out_at,
        waited_minutes=out_at - shut_at,
        frame=frame,
        density=studio.frames[0].blocking_density or 0.0,
        stops=exposed.stops,
        key=key,
    )
    done["development"] = developed.done
    verdict = exposed.verdict if developed.ripe else ""
    bench = replace(bench, minute=out_at + 3, verdict=verdict or bench.verdict)
    work = Work(done, coat_nm, exposed.stops, verdict)
    faults = [fault for stage in done.values() for fault in stage.faults]
    fixer = bench.fixer or Fixer(session.day)
    if any(fault.loses for fault in faults) or (faults and not happens(0.65, *key, "finish it")):
        return work, bench  # seen to be bad under the filter, and given up
    bench = replace(bench, fixer=replace(fixer, plates=fixer.plates + 1))
    done["finish"] = finish(session, fixer, developed.end_minute + 5, key)
    return work, bench


def _stopped(done: Done, seen: str, key: Key) -> bool:
    """Tell whether the maker sees the fault at once and gives the plate up."""
    return any(f.loses for f in done.faults) and happens(fact(seen), *key, seen)


def _after_lunch(minute: int) -> int:
    return LUNCH[1] + 4 if LUNCH[0] <= minute < LUNCH[1] else minute


def _sunlit(lit: LitSession, minute: int) -> int:
    """Return the minute, or the first with the sun over the skyline, but within its last hour."""
    return min(max(minute, lit.beam_minutes[0] + 5), lit.beam_minutes[1] - 40)


def _steady(lit: LitSession, minute: int) -> int:
    """Return the first minute from this one at which the sun is not just behind a passing cloud.

    The maker waits up to `PATIENCE` minutes for light as good as the best of the last half hour.
    """
    running = lit.lux["sun"]
    wanted = 0.7 * max(running[i + 1] - running[i] for i in range(max(minute - 30, 0), minute))
    for later in range(minute, minute + PATIENCE):
        if min(running[later + i + 1] - running[later + i] for i in range(-2, 1)) >= wanted:
            return later
    return minute + PATIENCE


def _written(
    head: Mapping[str, str], work: Work, key: Key
) -> tuple[dict[str, str], dict[str, Any]]:
    """Return one row as the maker writes it, and the truth behind it."""
    faults = {stage: done.faults for stage, done in work.done.items()}
    every = [fault for found in faults.values() for fault in found]
    best = abs(work.stops) < 0.45 and 18.0 < work.coat_nm < 33.0
    grade = booking.grade_of(every, best=best and happens(0.6, *key, "fine"))
    making, booked_at = booking.booked_stages(tuple(work.done), faults, key)
    cells: dict[str, str] = dict.fromkeys(column_names(), "")
    cells.update(head)
    told = {name: cell for done in work.done.values() for name, cell in done.cells.items()}
    cells.update(told)
    cells.update(booking.without_story(work.done, told, key))
    cells = booking.with_gaps(cells, key)
    cells.update(making)
    cells["exposure_verdict"] = work.verdict
    cells["grade"] = grade
    cells["defects"] = booking.defects_of(faults, booked_at, work.stops, key)
    cells["remarks"] = booking.remark(grade, key)
    return cells, _truth(head["plate"], work, every, grade, booked_at)


def _truth(
    plate: str, work: Work, faults: Sequence[Fault], grade: str, booked_at: Mapping[str, str]
) -> dict[str, Any]:
    """Return what really happened: the first stage to lose the plate names its main cause."""
    losing = [fault for fault in faults if fault.loses] or list(faults)
    main = losing[0].cause if losing else None
    hidden: dict[str, Any] = {}
    for done in work.done.values():
        hidden.update(done.hidden)
    return {
        "plate": plate,
        "grade": grade,
        "failed_stage": causes()[main]["stage"] if main else None,
        "cause": main,
        "faults": [
            {
                "cause": fault.cause,
                "stage": causes()[fault.cause]["stage"],
                "margin": plain(fault.margin),
                "loses": fault.loses,
            }
            for fault in faults
        ],
        "booked_wrongly": {stage: at for stage, at in booked_at.items() if stage != at},
        "stages_reached": [stage for stage in STAGES if stage in work.done],
        "hidden": hidden,
    }
