"""How late each step may start with nothing lost.

A backward pass from the day's end: what must come after on the same plate, in the same box, camera,
fire or frame, and the finishing work still to be done by the same hands in the planned order. Work
before development may change places, so it is not bound to the hands' order. The doubt of what is
still to come is taken off as the root of the summed variances along the chain that binds; the
light's doubt by the weather's own days.
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from argentry.plan import daylight
from argentry.plan.tasks import DEVELOPMENT, EXPOSURE, Block, frame_span, rooms

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

SAFE_SHARE = 0.9  # "safe" means: on nine days of ten
SAFE_Z = NormalDist().inv_cdf(SAFE_SHARE)  # the normal deviate of that share


@dataclass(frozen=True)
class _Held:
    """One stretch during which a plate holds something only one can hold."""

    plate: int
    first: int  # block at whose start it is taken
    start: float
    end: float


def _lanes(stretches: list[_Held], lanes: int) -> list[tuple[_Held, _Held]]:
    """Return (earlier, later) pairs that follow each other in the same hands or frame."""
    ends: list[tuple[float, _Held | None]] = [(-np.inf, None)] * lanes
    pairs = []
    for stretch in sorted(stretches, key=lambda s: (s.start, s.end)):
        lane = max(
            (i for i in range(lanes) if ends[i][0] <= stretch.start + 1e-6),
            key=lambda i: ends[i][0],
            default=int(np.argmin([e for e, _ in ends])),
        )
        before = ends[lane][1]
        if before is not None:
            pairs.append((before, stretch))
        ends[lane] = (stretch.end, stretch)
    return pairs


def _followers(
    blocks: tuple[Block, ...],
    starts: Array,
    ends: Array,
    workers: int,
    frame_counts: tuple[int, ...],
    frame_kind: NDArray[np.int64],
) -> dict[tuple[int, int], list[tuple[int, int]]]:
    """Return, for each (plate, block), what may only begin after it: (plate, block)."""
    plates = range(starts.shape[0])
    after: dict[tuple[int, int], list[tuple[int, int]]] = {}

    def link(pairs: list[tuple[_Held, _Held]], last_of: dict[tuple[int, int], int]) -> None:
        for before, then in pairs:
            block = last_of.get((before.plate, before.first), before.first)
            after.setdefault((before.plate, block), []).append((then.plate, then.first))

    hands = [
        _Held(p, b, float(starts[p, b]), float(ends[p, b]))
        for p in plates
        for b, block in enumerate(blocks)
        if block.attended
    ]
    take, free = frame_span(blocks)
    link([pair for pair in _lanes(hands, workers) if pair[1].first >= free], {})
    for room in rooms(blocks):
        held = [
            _Held(p, b, float(starts[p, b]), float(ends[p, b]))
            for p in plates
            for b, block in enumerate(blocks)
            if block.holds(room)
        ]
        link(_lanes(held, 1), {})
    for kind, count in enumerate(frame_counts):
        inside = [
            _Held(p, take, float(starts[p, take]), float(starts[p, free]))
            for p in plates
            if frame_kind[p] == kind
        ]
        # the frame is free again at the *start* of the block that takes the plate out
        link(_lanes(inside, count), {(p, take): free - 1 for p in plates})
    return after


def latest_starts(
    blocks: tuple[Block, ...],
    starts: Array,
    ends: Array,
    frame_kind: NDArray[np.int64],
    *,
    workers: int,
    breaks: tuple[tuple[float, float], ...],
    last_minute: float,
    light: daylight.DayLight,
    doses: tuple[Array, ...],
) -> Array:
    """Return the latest safe start of every block, the order of the plan kept.

    Parameters
    ----------
    blocks : tuple of Block
        A plate's blocks.
    starts, ends : NDArray[float64], shape (plates, blocks)
        The plan. [min]
    frame_kind : NDArray[int64], shape (plates,)
        Kind of frame of each plate.
    workers : int
        Pairs of hands.
    breaks : tuple of (float, float)
        [min]
    last_minute : float
        When everything must be done. [min]
    light : DayLight
        The day's light.
    doses : tuple over frames of NDArray[float64], shape (k,)
        A development dose for each weather. [J/m2]

    Returns
    -------
    NDArray[float64], shape (plates, blocks)
        Latest safe start; ``-inf`` where no start is safe on nine days of ten. [min]
    """
    plates, count = starts.shape
    after = _followers(
        blocks, starts, ends, workers, tuple(f.count for f in light.frames), frame_kind
    )
    latest = np.full((plates, count), np.nan)
    variance = np.zeros((plates, count))
    exposure_sds = _exposure_sd(light)
    order = sorted(
        ((p, b) for p in range(plates) for b in range(count)),
        key=lambda pb: (starts[pb], pb[1]),
        reverse=True,
    )
    for p, b in order:
        block = blocks[b]
        limits = [(last_minute, 0.0)]
        if b + 1 < count:
            limits.append((latest[p, b + 1], variance[p, b + 1]))
        limits += [
            (latest[q, c], variance[q, c]) for q, c in after.get((p, b), []) if q != p or c > b
        ]
        # what binds is the limit that is earliest once its own doubt is taken off
        end, doubt = min(limits, key=lambda pair: pair[0] - SAFE_Z * np.sqrt(pair[1]))
        if block.kind == DEVELOPMENT:
            kind = int(frame_kind[p])
            deadline = end - SAFE_Z * np.sqrt(doubt)
            latest[p, b] = daylight.safe_latest_start(
                light.frames[kind], doses[kind], float(deadline), SAFE_SHARE
            )
            continue
        length = float(ends[p, b] - starts[p, b])
        if block.attended:  # hands-on work does not run into a break
            for low, high in sorted(breaks, reverse=True):
                if end > low and end - length < high:
                    end = low
        spread = (
            exposure_sds
            if block.kind == EXPOSURE
            else float(np.sqrt(sum((t.minutes * t.log_sd) ** 2 for t in block.tasks)))
        )
        latest[p, b] = end - length
        variance[p, b] = doubt + spread**2
    safe = latest - SAFE_Z * np.sqrt(variance)
    for b in range(1, count):
        within = blocks[b].within
        if within is not None:  # a keeping limit counts from when the step before really ended
            safe[:, b] = np.minimum(safe[:, b], ends[:, b - 1] + within)
    return safe


def _exposure_sd(light: daylight.DayLight) -> float:
    """Return the spread of the exposure's length between weathers at noon [min]."""
    noon = int(np.argmax(np.diff(light.exposure_middle)))
    lengths = []
    for day in light.exposure_days[:60]:
        ends = daylight.exposure_ends(day, light.exposure_dose, light.longest_exposure)
        lengths.append(ends[noon] - noon)
    known = np.array(lengths)[np.isfinite(lengths)]
    return float(known.std()) if known.size > 1 else 0.0
