"""From the trade's step rules to what a planner moves: blocks of hands-on work and waits.

A *block* is a run of hands-on steps that follow each other at once (the plate cannot wait between
them, or the work is done in one go), or one exposure, or one wait. Planning moves blocks; sheets
show their steps.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

AT_ONCE_MINUTES = 5.0  # a keeping limit up to this leaves no room for anything in between

HANDS, EXPOSURE, DEVELOPMENT, WAIT = "hands", "exposure", "development", "wait"


@dataclass(frozen=True)
class Task:
    """One step of one plate with its duration settled for the day.

    Attributes
    ----------
    key : str
        Key of the step in ``steps.toml``.
    law : str
        ``"exposure"`` and ``"development"`` last as long as the light decides; anything else
        lasts `minutes`.
    minutes : float
        Median duration. [min]
    log_sd : float
        Standard deviation of the logarithm of the duration. [1]
    attended : bool
        True when it needs hands all the time.
    resource : str
        What it holds, or an empty string: one plate at a time each; of what the plate is
        developed in there are as many as the problem says.
    within : float or None
        Keeping limit: it must begin at most this long after the step before. [min]
    fading : float
        What each minute of waiting before it takes off the stage's odds. [probit/min]
    usual_share : float
        Share of plates that come through its stage when nothing waits. [1]
    apart : bool
        True where hands may leave the plate before it, though it is not polished yet.
    """

    key: str
    law: str
    minutes: float
    log_sd: float
    attended: bool
    resource: str = ""
    within: float | None = None
    fading: float = 0.0
    usual_share: float = 0.5
    apart: bool = False


@dataclass(frozen=True)
class Block:
    """A run of tasks without a gap.

    Attributes
    ----------
    kind : str
        `HANDS`, `EXPOSURE`, `DEVELOPMENT` or `WAIT`.
    tasks : tuple of Task
        In order.
    first : int
        Index of the first task in the plate's list.
    within : float or None
        Keeping limit before the block. [min]
    """

    kind: str
    tasks: tuple[Task, ...]
    first: int
    within: float | None

    @property
    def last(self) -> int:
        """Index of the last task in the plate's list."""
        return self.first + len(self.tasks) - 1

    @property
    def minutes(self) -> float:
        """Median duration; 0 for blocks that the light decides [min]."""
        return 0.0 if self.kind in (EXPOSURE, DEVELOPMENT) else sum(t.minutes for t in self.tasks)

    @property
    def fading(self) -> float:
        """What each minute of waiting before the block takes off the odds [probit/min]."""
        return self.tasks[0].fading

    @property
    def usual_share(self) -> float:
        """Share of plates that come through its stage when nothing waits [1]."""
        return self.tasks[0].usual_share

    @property
    def whole_minutes(self) -> int:
        """Median duration rounded up, for the minute grid of the solver [min]."""
        return math.ceil(self.minutes - 0.01)  # a hundredth of a minute is not a minute

    @property
    def attended(self) -> bool:
        """True when the block keeps a pair of hands."""
        return self.kind in (HANDS, EXPOSURE)

    def offset(self, index: int) -> float:
        """Minutes from the block's start to the start of its task `index` [min]."""
        return sum(t.minutes for t in self.tasks[:index])

    def holds(self, resource: str) -> tuple[float, float] | None:
        """Return (offset, minutes) during which the block holds `resource`, or None [min]."""
        inside = [i for i, t in enumerate(self.tasks) if t.resource == resource]
        if not inside:
            return None
        start = self.offset(inside[0])
        return start, self.offset(inside[-1]) + self.tasks[inside[-1]].minutes - start


def kind_of(task: Task) -> str:
    """Return the kind of block a task belongs to."""
    if task.law == "exposure":
        return EXPOSURE
    if task.law == "development":
        return DEVELOPMENT
    return HANDS if task.attended else WAIT


def blocks_of(tasks: tuple[Task, ...]) -> tuple[Block, ...]:
    """Group a plate's tasks into blocks.

    Parameters
    ----------
    tasks : tuple of Task
        A plate's tasks in order.

    Returns
    -------
    tuple of Block
        In order; together they hold every task once.
    """
    blocks: list[Block] = []
    # A plate is polished in one go: nobody leaves it half scoured to look after another.
    # That lasts until it first takes hold of something others may want.
    polished = next((i for i, t in enumerate(tasks) if t.resource), 0)
    for index, task in enumerate(tasks):
        kind = kind_of(task)
        last = blocks[-1] if blocks else None
        at_once = task.within is not None and task.within <= AT_ONCE_MINUTES
        in_one_go = index < polished and not task.apart
        if last and kind == HANDS and last.kind == HANDS and (at_once or in_one_go):
            blocks[-1] = Block(HANDS, (*last.tasks, task), last.first, last.within)
        else:
            blocks.append(Block(kind, (task,), index, task.within if blocks else None))
    return tuple(blocks)


def frame_resource(blocks: tuple[Block, ...]) -> str:
    """Return what the plate is developed in, by the name its tasks hold it under; or nothing."""
    return next((b.tasks[0].resource for b in blocks if b.kind == DEVELOPMENT), "")


def rooms(blocks: tuple[Block, ...]) -> tuple[str, ...]:
    """Return what one plate at a time may hold, in the order in which it is first held."""
    held = dict.fromkeys(task.resource for block in blocks for task in block.tasks)
    return tuple(name for name in held if name not in ("", frame_resource(blocks)))


def fading_blocks(blocks: tuple[Block, ...]) -> list[int]:
    """Return the blocks that hands must begin before a plate fades."""
    return [i for i, b in enumerate(blocks) if i and b.within is not None and b.attended]


def frame_span(blocks: tuple[Block, ...]) -> tuple[int, int]:
    """Return (block that takes the frame, block at whose start it is free again).

    The frame is held from the start of the first block with a frame step until the plate is
    taken out, which is the start of the block after the last frame step.

    Raises
    ------
    ValueError
        If no block uses a frame or nothing follows it: the step data are then wrong.
    """
    frame = frame_resource(blocks)
    users = [i for i, b in enumerate(blocks) if b.holds(frame) or b.kind == DEVELOPMENT]
    if not users or users[-1] + 1 >= len(blocks):
        raise ValueError("the steps hold no development frame, or never take the plate out of it")
    return users[0], users[-1] + 1
