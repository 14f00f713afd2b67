"""The demo's year with a stock room: what the tool says of it, and what a hidden world knows.

The maker goes through the desk's doors: buys lots, mixes the bath that the tool says is to be
renewed, takes the plates that it names, weighs now and then, orders what it says. The hidden world
uses up other amounts than the trade's, coats and silvers unevenly, wears and tires by laws of its
own, and reads every scale with noise. None of its numbers comes from argentry.
"""

from __future__ import annotations

import math
import random
import tempfile
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING, Any

from argentry.book.open import open_book
from argentry.demo.write import write_demo
from argentry.demo.year import invented_year
from argentry.desk.bench.run import add_events, open_run, state
from argentry.desk.readings.by_hand import note_reading
from argentry.keeping.clock import SteadyClock
from argentry.keeping.plates.grades import grade_plate
from argentry.keeping.plates.plates import new_plates, note_work
from argentry.keeping.plates.wear import list_wear
from argentry.keeping.stock.baths import discard_bath, list_baths, new_bath
from argentry.keeping.stock.corrections import weigh_lot
from argentry.keeping.stock.cost import Cost, cost
from argentry.keeping.stock.lots import new_lot, use_stock
from argentry.keeping.stock.orders import stock_needs
from argentry.keeping.studio import load_studio
from argentry.records.ids import new_id
from argentry.records.material import LotFacts
from benchmarks.played_clock import Clock, played
from benchmarks.stock_world import (
    AG,
    AGI,
    AGI_G_CM3,
    AREA,
    BATH_ML,
    CARRIED_ML,
    CLAIM,
    HYPO,
    HYPO_G,
    KEYS,
    LEAST_UM,
    PICTURE_NM,
    PLATE_PRICE,
    PLATED_UM,
    PLATES_A_LOT,
    SILVER_G_CM3,
    SPREAD_NM,
    STEPS,
    WORLD,
    Stuff,
    TrueBath,
    TruePlate,
    Truth,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from argentry.needs.materials.bath_life import BathLife


SEEDS = (14, 15, 16)
LAYER = "interlayer_nm = 11.0\ninterlayer_silver = 0.45\ninterlayer_growth_nm = 16.0\n"


@dataclass
class Found:
    """What came of a year."""

    cost: Cost
    stuffs: list[Stuff]
    silver: float
    baths: list[TrueBath]
    apart_um: list[float]
    worn_through: int
    worn: list[float]
    plates: int


class Year:
    """The maker, the hidden world, and the tool between them."""

    def __init__(self, folder: Path, clock: Clock, seed: int) -> None:
        self.folder, self.clock, self.chance = folder, clock, random.Random(seed)
        self.studio = load_studio(folder)
        self.book = open_book(folder)
        self.start = clock.now
        self.bench = SteadyClock(clock.now, passed=self._passed, origin=0.0, wall=lambda: clock.now)
        self.stuffs = {one[0]: Stuff(*one) for one in (*WORLD, HYPO)}
        self.plates: dict[str, TruePlate] = {}
        self.silvered: dict[str, int] = dict.fromkeys(AREA, 0)
        self.silver_spent, self.silver_lots = 0.0, 0
        self.bath: TrueBath | None = None
        self.baths: list[TrueBath] = []
        self.coming: list[tuple[date, Stuff]] = []
        self.weighed = clock.now.date()
        self.worn_called: dict[str, float] = {}  # and what was really on them then
        self.paces: list[tuple[date, int]] = []
        for one in self.stuffs.values():
            self.buy(one)

    def _passed(self) -> float:
        return (self.clock.now - self.start).total_seconds()

    def buy(self, one: Stuff) -> None:
        """Note a lot that came in, opened."""
        today = self.clock.now.date()
        name = f"{one.name} {today} {len(one.lots)}"
        opened = None if one.name == "Hypo" else today  # hypo is taken by hand, for mixing
        facts = LotFacts(price=one.price, lead_days=one.lead, opened_on=opened)
        new_lot(self.folder, name, one.amount, one.unit, received_on=today, facts=facts)
        one.lots[name] = one.amount

    def buy_plates(self, size: str) -> None:
        """Note a lot of silvered plates, and each plate with the silver that weighing told."""
        today = self.clock.now.date()
        self.silver_lots += 1
        facts = LotFacts(price=PLATE_PRICE * PLATES_A_LOT, opened_on=today)
        name = f"Silvered plates, {size} {self.silver_lots}"
        new_lot(self.folder, name, float(PLATES_A_LOT), "piece", received_on=today, facts=facts)
        for number in range(PLATES_A_LOT):
            label = f"{size[0].upper()}{self.silver_lots}-{number + 1}"
            um = PLATED_UM * self.chance.gauss(1.0, 0.04)
            told = um + self.chance.gauss(0.0, 0.003) / (SILVER_G_CM3 * AREA[size] * 1e-4)
            new_plates(self.folder, [label], size=size, silver_um=round(told, 2))
            self.plates[label] = TruePlate(size, um, self.chance.uniform(40.0, 60.0))

    def fixing_bath(self) -> TrueBath:
        """Return the bath to fix in: a new one when the tool says so, or there is none."""
        for one in list_baths(self.folder).baths:
            true = self.bath
            if one.life is None or true is None or one.name != true.name:
                continue
            self.read(true, one.life)
            if one.life.verdict != "renew":
                return true
            true.told = true.plates
            self.note_spent(true)
            discard_bath(self.folder, one.name)
        name = f"Fix {len(self.baths) + 1}"
        hypo = self.stuffs["Hypo"]
        lot = next(lot for lot, left in hypo.lots.items() if left >= HYPO_G)
        use_stock(self.folder, lot, HYPO_G, remark="mixing")
        hypo.take(HYPO_G * self.chance.gauss(1.0, 0.003))
        self.clock.now += timedelta(minutes=5)  # no time taken before is of the new bath
        new_bath(self.folder, name, "fix", BATH_ML)
        spoils = self.chance.choice((4.5, 14.0, 14.0))
        fresh = self.chance.gauss(12.0, 1.0)
        self.bath = TrueBath(name, self.clock.now, fresh, spoils)
        self.baths.append(self.bath)
        return self.bath

    def note_spent(self, bath: TrueBath) -> None:
        """Note whether the bath really is spent: a week old, at 0.2 g/L, or twice as slow."""
        old = self.clock.now - bath.mixed > timedelta(days=7)
        full = bath.held_mg / bath.volume_ml >= 0.2
        if bath.spent is None and (old or full or bath.ratio(self.clock.now) >= 2.0):
            bath.spent = bath.plates

    def session(self, day: date, rows: Sequence[Truth]) -> None:
        """Make the plates of one day."""
        self.clock.now = datetime.combine(day, time(9), UTC)
        for due, one in [item for item in self.coming if item[0] <= day]:
            rate = self.pace(day) * one.each
            one.orders.append(one.there / rate if rate else math.inf)
            self.buy(one)
            self.coming.remove((due, one))
        labels = self.choose([truth["size"] for truth in rows])
        gild = f"Gold {day}"
        new_bath(self.folder, gild, "gild", 40.0 * len(rows))
        run = open_run(self.book, self.studio, labels, clock=self.bench, device="desk")
        self.send(run, [self.event("caution_shown", None, step, caution=key)
                        for step, key in self.cautions(run)])  # fmt: skip
        for label, truth in zip(labels, rows, strict=True):
            self.make(run, label, truth, first=label == labels[0])
        self.clock.now += timedelta(minutes=5)
        self.send(run, [self.event("run_closed", None, None)])
        discard_bath(self.folder, gild)
        self.paces.append((day, len(rows)))
        for label, truth in zip(labels, rows, strict=True):
            grade_plate(self.folder, label, grade=truth["grade"])
            if truth["grade"] in ("lost", "study"):
                self.polish_back(label)
        if (day - self.weighed).days >= 28:
            self.weigh()
        self.order(day)

    def pace(self, day: date) -> float:
        """Return plates a day over the last four weeks."""
        return sum(n for one, n in self.paces if (day - one).days <= 28) / 28.0

    def choose(self, sizes: Sequence[str]) -> list[str]:
        """Return a plate of each size: of those that the tool names, the thickest."""
        found = list_wear(self.folder)
        free = [label for label in found.choose if label in self.plates]
        for label in found.worn:
            self.worn_called.setdefault(label, self.plates[label].um)
        out: list[str] = []
        for size in sizes:
            own = [label for label in free if self.plates[label].size == size and label not in out]
            if not own:
                self.buy_plates(size)
                free = [label for label in list_wear(self.folder).choose if label in self.plates]
                own = [
                    label for label in free if self.plates[label].size == size and label not in out
                ]
            # used ones first: a new one costs
            own.sort(key=lambda label: self.plates[label].passes == 0)
            out.append(own[0])
        return out

    def cautions(self, run: str) -> list[tuple[str, str]]:
        """Return each caution with its step."""
        shown = state(self.book, run, self.clock.now).steps
        return [(step.key, caution.key) for step in shown for caution in step.cautions]

    def event(self, kind: str, plate: str | None, step: str | None, **body: Any) -> dict[str, Any]:
        """Return an event as a tablet sends it."""
        return {"id": new_id(), "kind": kind, "plate": plate, "step": step, "body": body,
                "at": self.clock.now}  # fmt: skip

    def send(self, run: str, events: Sequence[Mapping[str, Any]]) -> None:
        """Post events as a tablet does that was out of reach; all must be taken."""
        ages = [(self.clock.now - one["at"]).total_seconds() for one in events]
        sent = [
            {key: value for key, value in one.items() if key != "at"} | {"age_s": age}
            for one, age in zip(events, ages, strict=True)
        ]
        added = add_events(self.book, self.studio, run, sent, "tablet", self.bench)
        assert not added.refused, added.refused[0].why

    def make(self, run: str, label: str, truth: Truth, *, first: bool) -> None:
        """Take a plate through its stages, and the world with it."""
        plate = self.plates[label]
        if not plate.passes:
            self.silver_spent += PLATE_PRICE
        key = next(one.id for one in self.known(run) if one.label == label)
        area = AREA[plate.size]
        true_nm = float(truth["hidden"].get("coat_nm") or 24.0)
        told: list[dict[str, Any]] = []
        unsure_nm = SPREAD_NM
        for stage in truth["stages_reached"]:
            room = ("ready_room",) if first and stage == "polish" else ()
            for step in (*room, *STEPS[stage]):
                if step == "fix":
                    self.fix(run, area, true_nm, unsure_nm)
                told.append(self.event("step_begun", key, step))
                self.clock.now += timedelta(minutes=4)
                told.append(self.event("step_ended", key, step))
                if step == "iodise" and self.chance.random() < 0.9:
                    self.clock.now += timedelta(seconds=20)
                    told.append(self.look(key, true_nm))
                    unsure_nm = PICTURE_NM
                for one in self.stuffs.values():
                    if one.step == step:
                        count = one.unit == "piece"
                        size = (area / AREA["quarter"]) ** 0.93
                        one.take(
                            one.each if count else one.each * size * self.chance.uniform(0.7, 1.3)
                        )
        self.clock.now += timedelta(minutes=1)
        self.send(run, told)
        plate.um -= self.chance.uniform(0.01, 0.03)  # the buff
        plate.worn_through |= plate.um < LEAST_UM - 0.3

    def known(self, run: str) -> Sequence[Any]:
        """Return the plates of a run."""
        return state(self.book, run, self.clock.now).plates

    def look(self, key: str, true_nm: float) -> dict[str, Any]:
        """Return the answer to the check of the coat as a picture would."""
        nm = max(true_nm + self.chance.gauss(0.0, PICTURE_NM), 1.0)
        half = 1.28 * PICTURE_NM * math.exp(self.chance.gauss(0.0, CLAIM))
        seen = {"picture": "0" * 64, "coat_l": 60.0, "coat_a": 0.0, "coat_b": 10.0,
                "coat_low_nm": max(nm - half, 0.0), "coat_high_nm": nm + half}  # fmt: skip
        return self.event("check_answered", key, "iodise", answer="right", value=nm, seen=seen)

    def fix(self, run: str, area: float, true_nm: float, unsure_nm: float) -> None:
        """Time the clearing, renew the bath when the tool says so, and fix the plate in it."""
        while True:
            bath = self.fixing_bath()
            self.clock.now += timedelta(minutes=1)
            self.note_spent(bath)
            timed = bath.fresh_s * bath.ratio(self.clock.now) * self.chance.gauss(1.0, 0.04)
            told = {"what": "clearing_s", "value": round(timed, 1), "unit": "s"}
            self.send(run, [self.event("reading_taken", None, None, **told)])
            if self.fixing_bath() is bath:
                break
        per_nm = area * 1e-7 * AGI_G_CM3 * AG / AGI * 1000.0
        mg = true_nm * per_nm
        bath.dissolved_mg += mg
        bath.unsure_mg2 += (unsure_nm * per_nm) ** 2
        bath.held_mg = (bath.held_mg + mg) * (1.0 - CARRIED_ML / bath.volume_ml)
        bath.volume_ml -= CARRIED_ML
        bath.plates += 1

    def read(self, bath: TrueBath, life: BathLife) -> None:
        """Note what the tool says of the silver in a bath."""
        bath.told_mg = life.silver_mg
        bath.told_80 = life.silver_low_mg, life.silver_high_mg

    def polish_back(self, label: str) -> None:
        """Polish a failed picture back, weighing before and after; one in eight is not weighed."""
        plate = self.plates[label]
        self.weigh_plate(label)
        plate.um -= 0.42 * math.exp(self.chance.gauss(0.0, 0.25))
        plate.passes += 1
        self.clock.now += timedelta(minutes=20)
        note_work(self.folder, label, "polished_back")
        self.clock.now += timedelta(minutes=5)
        if self.chance.random() < 0.875:
            self.weigh_plate(label)

    def weigh_plate(self, label: str) -> None:
        """Weigh a dry plate on a balance that is 2 mg off now and then."""
        plate = self.plates[label]
        grams = plate.grams + AREA[plate.size] * plate.um * 1e-4 * SILVER_G_CM3
        self.clock.now += timedelta(minutes=1)
        note_reading(self.folder, "plate_g", round(grams + self.chance.gauss(0.0, 0.002), 3),
                     plate=label)  # fmt: skip

    def weigh(self) -> None:
        """Put every lot right by a scale that is off by three in a thousand."""
        self.weighed = self.clock.now.date()
        for one in self.stuffs.values():
            for lot, left in one.lots.items():
                exact = one.unit == "piece"
                told = left if exact else left * self.chance.gauss(1.0, 0.003)
                weigh_lot(self.folder, lot, round(min(max(told, 0.0), one.amount), 4))

    def order(self, day: date) -> None:
        """Order what the tool says; the shop is late or early by a quarter."""
        for needed in stock_needs(self.folder).to_order:
            one = self.stuffs[KEYS[needed.material]]
            if any(coming is one for _, coming in self.coming):
                continue
            takes = one.lead * math.exp(self.chance.gauss(0.0, 0.25))
            per_lot = next(iter(one.lots)) and one.amount
            wanted = max(1, round(needed.order / needed.there * one.there / per_lot)) if (
                needed.there and one.there) else 1  # fmt: skip
            self.coming += [(day + timedelta(days=math.ceil(takes)), one)] * min(wanted, 6)

    def end(self, first: date) -> Found:
        """Hold what the tool says at the end against the truth."""
        last = self.clock.now.date()
        for one in list_baths(self.folder).baths:
            if self.bath is not None and one.name == self.bath.name and one.life is not None:
                self.read(self.bath, one.life)
        found = list_wear(self.folder)
        told = {one.plate: one.left_um for one in found.plates if one.plate in self.plates}
        apart = [
            um - self.plates[label].um for label, um in told.items()
            if um is not None and self.plates[label].passes
        ]  # fmt: skip
        return Found(
            cost=cost(self.folder, first=first, last=last),
            stuffs=list(self.stuffs.values()),
            silver=self.silver_spent,
            baths=self.baths,
            apart_um=apart,
            worn_through=sum(one.worn_through for one in self.plates.values()),
            worn=list(self.worn_called.values()),
            plates=len(self.plates),
        )


def demo_days() -> dict[date, list[Truth]]:
    """Return what really became of each plate of the demo's year, by day."""
    year = invented_year()
    truth = {one["plate"]: one for one in year.truth}
    days: dict[date, list[Truth]] = {}
    for row in year.rows:
        timed = bool(row["fuming_seconds"] and row["box_c"])
        plate = truth[row["plate"]] | {"size": row["size"], "timed": timed}
        days.setdefault(date.fromisoformat(row["date"]), []).append(plate)
    return days


def play(folder: Path, days: Mapping[date, Sequence[Truth]], seed: int = 14) -> Found:
    """Play days in a studio folder that holds no book."""
    first = min(days) - timedelta(days=1)
    with played(datetime.combine(first, time(12), UTC)) as clock:
        maker = Year(folder, clock, seed)
        for day in sorted(days):
            maker.session(day, days[day])
        return maker.end(first)


def studio(folder: Path) -> Path:
    """Return the demo's studio without its book; its maker has fitted the layer under the film."""
    write_demo(folder)
    file = folder / "studio.toml"
    file.write_text(file.read_text().replace("[habits]\n", "[habits]\n" + LAYER, 1))
    for one in folder.glob("book.sqlite*"):
        one.unlink()
    return folder


def told_and_spent(found: Found) -> dict[str, tuple[float, float]]:
    """Return by part what the tool says was spent, and what was."""
    parts = {part.part: part.total for part in found.cost.parts}
    spent = {"silver": found.silver}
    for one in found.stuffs:
        part = {"Gold chloride": "gold", "Cover glass": "glass"}.get(one.name, "other materials")
        spent[part] = spent.get(part, 0.0) + one.spent
    return {part: (parts[part], money) for part, money in spent.items()}


def run() -> Iterator[tuple[str, str]]:
    """Play the year three times, each with another hidden world."""
    days = demo_days()
    for seed in SEEDS:
        with tempfile.TemporaryDirectory() as beside:
            found = play(studio(Path(beside) / "demo"), days, seed)
        yield (
            f"year {seed}: plates bought, fixing baths mixed",
            f"{found.plates}, {len(found.baths)}",
        )
        money = told_and_spent(found)
        told, spent = (sum(pair[n] for pair in money.values()) for n in (0, 1))
        yield "  cost told over spent", f"{100 * (told / spent - 1):+.2f} %"
        worst = max(money, key=lambda part: abs(money[part][0] / money[part][1] - 1.0))
        apart = 100 * (money[worst][0] / money[worst][1] - 1.0)
        yield "  the part furthest off", f"{worst} {apart:+.2f} %"
        off = [100 * (one.told_mg / one.dissolved_mg - 1.0) for one in found.baths if one.plates]
        inside = sum(abs(one) <= 5.0 for one in off)
        yield (
            "  silver in each bath: within 5 %, median, furthest off",
            (f"{inside} of {len(off)}, {median(map(abs, off)):.1f} %, {max(map(abs, off)):.1f} %"),
        )
        held = sum(one.told_80[0] <= one.dissolved_mg <= one.told_80[1] for one in found.baths)
        yield "  silver in each bath: within its 80 % range", f"{held} of {len(found.baths)}"
        could = sum(one.chance_within for one in found.baths if one.plates)
        yield "  as many as the noise of the pictures allows", f"{could:.0f} of {len(off)}"
        whole = sum(one.told_mg for one in found.baths) / sum(
            one.dissolved_mg for one in found.baths
        )
        yield "  silver in all of them", f"{100 * (whole - 1.0):+.2f} %"
        late = [one for one in found.baths if one.spent is not None and (one.told or 0) > one.spent]
        early = [one for one in found.baths if one.told is not None and one.spent is None]
        renewed = sum(one.told is not None for one in found.baths)
        after = max((one.told - one.spent for one in late if one.told and one.spent), default=0)
        yield (
            "  baths renewed; after they were spent, by at the most; before",
            (f"{renewed}; {len(late)}, {after} plates; {len(early)}"),
        )
        yield (
            "  silver left on plates polished back: within 0.3 um, furthest off",
            (
                f"{sum(abs(one) <= 0.3 for one in found.apart_um)} of {len(found.apart_um)}, "
                f"{max(map(abs, found.apart_um)):.2f} um"
            ),
        )
        most = f"{median(found.worn):.2f}, {max(found.worn):.2f} um" if found.worn else "none"
        yield "  plates called worn; silver on them: median, most", f"{len(found.worn)}; {most}"
        yield "  pictures made on a plate that was worn through", f"{found.worn_through}"
        orders = [days for one in found.stuffs for days in one.orders]
        short = {one.name: one.short for one in found.stuffs if one.short}
        yield (
            "  orders; days the rest still lasted when they came, median",
            (f"{len(orders)}; {median(orders):.0f}" if orders else "0"),
        )
        yield "  plates for which a material was short", f"{short or 'none'}"
