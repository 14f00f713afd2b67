"""What is said of a plan made again: which plates change, what comes next, when the day ends."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from argentry.day.remedies import further_words
from argentry.plan.tasks import frame_span

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from argentry.day.setting import DaySetting
    from argentry.plan.again import Again
    from argentry.plan.further import Further
    from argentry.records.again import PlateStanding
    from argentry.records.day import DayPlan, PlannedStep

TOLD_MINUTES = 10.0  # nor is a day that ends later by less worth a line
WORTH_TELLING = 0.5  # chance that all are finished under which it is told
TOLD_SHARE = 0.1  # of the chance that all plates are finished
OUT_OF_DATE = 30.0  # so far off its times a plan is of no use, even if no better one is found [min]

LEAVE = "Plate {plate} no longer fits: leave it for another day."
NO_PLACE = "Plate {plate} has no place today: leave it for another day."
BACK = "Plate {plate} has a place, begun at about {time:%H:%M}."
NOT_FINISHED = "Plate {plate} will not be finished today, as far as can be foreseen."
CARD = (
    "Plate {plate} is ripe at about {time:%H:%M} while hands are busy: lay an opaque card over its "
    "frame until it can be taken out."
)
OVERTIME = "The last plate is done at {time:%H:%M}, {minutes:.0f} min after your hours."
REORDERED = "Another order brings more good plates: next {step} of plate {plate} at {time:%H:%M}."
BETTER = (
    "Another order finishes all plates on {share:.0f} % of days, not on {kept_share:.0f} %: next "
    "{step} of plate {plate} at {time:%H:%M}."
)
LATER = "The last plate is done at {time:%H:%M}, {minutes:.0f} min later than planned."
SOONER = "The last plate is done at {time:%H:%M}, {minutes:.0f} min earlier than planned."
TIMES = "Its times can be kept; those that stand are up to {minutes:.0f} min out."
NO_ORDER = "No order keeps every limit from here on: go on plate by plate, what spoils first."
LOW = "More likely than not, some plate will not be finished today."  # the odds stand beside it


@dataclass(frozen=True)
class MadeAgain:
    """A plan made again, as it is told.

    Attributes
    ----------
    setting, again
        By which it was made, and what the planner says.
    held : sequence of int
        Plates of the standing that the planner was given.
    standing : sequence of PlateStanding
        Every plate of the day.
    plan : DayPlan
        With the standing's numbers.
    left_out : sequence of int
        Plates of the standing that no longer fit.
    share : float
        Chance that all its plates are finished. [1]
    more : Further or None
        How one plate more is best begun.
    why_none : str
        Why none is begun in the place of one just lost; empty where that is not to be told.
    """

    setting: DaySetting
    again: Again
    held: Sequence[int]
    standing: Sequence[PlateStanding]
    plan: DayPlan
    left_out: Sequence[int]
    share: float
    more: Further | None
    why_none: str = ""

    @property
    def ahead(self) -> list[PlannedStep]:
        """Return the steps that no hand has begun."""
        begun = [plate.begun for plate in self.standing]
        return [step for step in self.plan.steps if step.step not in begun[step.plate - 1]]

    def name(self, plate: int) -> str:
        """Return what a plate of the standing is called."""
        return self.standing[plate].label or str(plate + 1)

    @property
    def out(self) -> float:
        """Return by how much steps ahead are planned too early at most [min]."""
        return max(self._late(), default=0.0)

    @property
    def gone(self) -> float:
        """Return the same for steps whose old time is over before hands begin the next [min]."""
        first = min((step.start for step in self.ahead), default=None)
        return max(self._late(first), default=0.0)

    def _late(self, before: datetime | None = None) -> list[float]:
        """Return how late steps ahead begin, those planned before a time [min]."""
        planned = [plate.planned for plate in self.standing]
        times = [(step.start, planned[step.plate - 1].get(step.step)) for step in self.ahead]
        return [
            (start - at).total_seconds() / 60.0
            for start, at in times
            if at is not None and (before is None or at < before)
        ]

    @property
    def higher(self) -> int:
        """By how many points more often all are finished than by the plan that stands, as shown."""
        kept = self.again.kept_share
        return 0 if kept is None else round(100.0 * self.share) - round(100.0 * kept)


def lines_of(made: MadeAgain) -> tuple[str, ...]:
    """Return what changed, in words; nothing where the plan betters nothing."""
    back = _back_lines(made)
    news = [
        *(NO_ORDER for _ in made.again.faults[:1]),
        *(
            (LEAVE if made.standing[n].planned else NO_PLACE).format(plate=made.name(n))
            for n in made.left_out
        ),
        *back,
        *(NOT_FINISHED.format(plate=made.name(made.held[at])) for at in made.again.not_finished),
        *(() if back else _order_lines(made)),
        *_card_lines(made),
    ]
    more = () if made.more is None else (_more_line(made, made.more),)
    better = bool(news or more) or made.higher > 0
    end = _end_lines(made, better=better)
    end += [line for line in _times_lines(made) if line not in end and (end or news)]
    low = [LOW] if made.plan.steps and made.share < WORTH_TELLING and (end or better) else []
    return (*news, *end, *low, *more, *([made.why_none] if made.why_none else ()))


def _more_line(made: MadeAgain, more: Further) -> str:
    return further_words(
        made.setting,
        made.again.planned.blocks,
        more,
        lambda plate: made.name(made.held[plate]),
        made.again.now,
    )


def _back_lines(made: MadeAgain) -> list[str]:
    """Return which plates that no plan held are in this one."""
    back: dict[int, datetime] = {}
    for step in made.ahead:
        plate = made.standing[step.plate - 1]
        if not (plate.planned or plate.begun):
            back.setdefault(step.plate - 1, step.start)
    return [BACK.format(plate=made.name(n), time=at) for n, at in back.items()]


def _order_lines(made: MadeAgain) -> list[str]:
    """Return the line of another order: what is begun next by it."""
    hands = [step for step in made.ahead if step.attended]
    if not made.again.reordered or not hands:
        return []
    said = {
        "step": hands[0].title,
        "plate": made.name(hands[0].plate - 1),
        "time": hands[0].start,
    }
    kept = made.again.kept_share
    if kept is not None and made.share >= kept + TOLD_SHARE:
        return [BETTER.format(share=100 * made.share, kept_share=100 * kept, **said)]
    return [REORDERED.format(**said)]


def _end_lines(made: MadeAgain, *, better: bool) -> list[str]:
    """Return the line of when the last plate is done, where that is news.

    A plan that only ends later, and is no `better`, is told once the times that stand are out of
    date.
    """
    steps = made.plan.steps
    if not steps:
        return []
    end = max(step.end for step in steps)
    over = (end - made.plan.end).total_seconds() / 60.0
    if over > 0.0:
        return [OVERTIME.format(time=end, minutes=over)]
    last = max(steps, key=lambda step: step.start)
    before = made.standing[last.plate - 1].planned.get(last.step)
    shift = 0.0 if before is None else (last.start - before).total_seconds() / 60.0
    out_of_date = made.gone >= OUT_OF_DATE
    if abs(shift) < TOLD_MINUTES:
        return [TIMES.format(minutes=made.out)] if out_of_date and shift >= 0.0 else []
    if 0.0 < shift < OUT_OF_DATE and not (better or out_of_date):
        return []
    words = LATER if shift > 0.0 else SOONER
    return [words.format(time=end, minutes=abs(shift))]


def _times_lines(made: MadeAgain) -> list[str]:
    """Return what a plan is good for by which all are finished less often than by the old order."""
    if made.higher >= 0 or made.again.reordered or made.out < TOLD_MINUTES:
        return []
    return [TIMES.format(minutes=made.out)]


def _card_lines(made: MadeAgain) -> list[str]:
    return [
        CARD.format(
            plate=made.name(made.held[int(made.again.plates[at])]),
            time=made.setting.clock.at(ripe),
        )
        for at, ripe in lie_ripe(made.again)
    ]


def lie_ripe(again: Again) -> list[tuple[int, float]]:
    """Return the plates placed that will be ripe before hands are free for them, and when [min]."""
    planned = again.planned
    if not planned.placed:
        return []
    free = frame_span(planned.blocks)[1]
    limit = planned.blocks[free].within
    assert limit is not None
    ripe = planned.ends[:, free - 1]
    late = (planned.starts[:, free] - ripe > limit) & (ripe > again.now)
    return [(int(at), float(ripe[at])) for at in np.flatnonzero(late)]
