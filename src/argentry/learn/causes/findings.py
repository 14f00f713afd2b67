"""One plate as findings of a net: looks with their origin, stages booked as faults, the verdict."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.learn.causes.appearance import (
    findings,
    link_table,
    looks_of,
    origin_stage,
    stage_causes,
)
from argentry.learn.causes.noisy_or import learn_links
from argentry.records.plate import STAGES

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from argentry.arrays import Floats
    from argentry.records.plate import Making
    from argentry.trade.causes import KnownCause


# The two ways in which an exposure is judged off, as findings.
_VERDICTS = (("blank", "under"), ("over", "solarised"))
_VERDICT_LEAK = 0.05  # a right exposure misjudged; as a look from nowhere, but judged every time
_ROUNDS = 2


@dataclass(frozen=True)
class Net:
    """Causes and findings of one plate.

    Attributes
    ----------
    causes : tuple of KnownCause
        Causes of the stages it reached.
    stages : tuple of str
        The stages reached; after the known causes each has one more, its own accidents.
    looks : tuple of str
        The looks that these causes may have: the first findings.
    plus, minus : Floats
        (causes + stages, findings) Beta counts of each link; both 0 where there is none.
    leaks, seen : Floats
        (findings,).
    """

    causes: tuple[KnownCause, ...]
    stages: tuple[str, ...]
    looks: tuple[str, ...]
    plus: Floats
    minus: Floats
    leaks: Floats
    seen: Floats

    def links(self) -> Floats:
        """Return the links in the middle of what is known of them."""
        total = self.plus + self.minus
        return np.asarray(np.divide(self.plus, total, out=np.zeros_like(total), where=total > 0))

    def unlooked(self) -> Floats:
        """Return the findings as if nobody had looked: bookings and the verdict alone."""
        out = self.seen.copy()
        out[: len(self.looks)] = np.nan
        return out

    def drawn(self, rng: np.random.Generator) -> Floats:
        """Return the links as they may be."""
        real = (self.plus > 0) & (self.minus > 0)
        out = self.links()
        out[real] = rng.beta(self.plus[real], self.minus[real])
        return out


def stages_reached(making: Making) -> tuple[str, ...]:
    """Return the stages a plate reached: those written down, else all of them."""
    booked = tuple(s for s in STAGES if s in making.stages)
    put_down = {origin_stage(d, origin) for d, origin in making.defects}
    return tuple(s for s in STAGES if s in booked or s in put_down) if booked else STAGES


def learned_links(stage: str, faults: Sequence[Making], shares: Floats) -> tuple[Floats, Floats]:
    """Return the links of a stage's causes learned from its faults, as Beta counts.

    Parameters
    ----------
    stage : str
        The stage.
    faults : sequence of Making
        Plates with a fault there.
    shares : Floats
        (causes,) share of these faults that each cause made, as far as known.

    Returns
    -------
    tuple of Floats
        Both (causes, looks of the stage).
    """
    causes, looks = stage_causes(stage), looks_of(stage)
    return learn_links(
        link_table(causes, looks),
        np.full(len(looks), trade.value("causes", "leak")),
        np.clip(shares, 1e-3, 0.9),
        np.array([findings(o, stage, looks) for o in faults]).reshape(len(faults), len(looks)),
        strength=trade.value("causes", "link_strength"),
        rounds=_ROUNDS,
    )


def plate_net(making: Making, learned: Mapping[str, tuple[Floats, Floats]]) -> Net:
    """Return the net of one plate.

    Parameters
    ----------
    making : Making
        The plate.
    learned : Mapping[str, tuple of NDArray]
        Links of each stage, as by `learned_links`.
    """
    stages = stages_reached(making)
    causes = tuple(c for s in stages for c in stage_causes(s))
    looks = sorted({d for s in stages for d in looks_of(s)})
    looks_plus, looks_minus = _look_counts(stages, looks, learned, making)
    booked_plus, booked_minus = _booked_counts([c.stage for c in causes], stages)
    verdict_plus, verdict_minus = _verdict_counts(causes, len(stages))
    leak = trade.value("causes", "leak")
    wrong = trade.value("causes", "booked_wrong")
    return Net(
        causes,
        stages,
        tuple(looks),
        np.concatenate([looks_plus, booked_plus, verdict_plus], axis=1),
        np.concatenate([looks_minus, booked_minus, verdict_minus], axis=1),
        np.concatenate(
            [np.full(len(looks), leak), np.full(len(stages), wrong), np.full(2, _VERDICT_LEAK)]
        ),
        np.concatenate([_looked(making, looks), _booked(making, stages), _verdict(making)]),
    )


def _look_counts(
    stages: Sequence[str],
    looks: Sequence[str],
    learned: Mapping[str, tuple[Floats, Floats]],
    making: Making,
) -> tuple[Floats, Floats]:
    place = {look: j for j, look in enumerate(looks)}
    rows = sum(len(stage_causes(s)) for s in stages) + len(stages)
    plus, minus = np.zeros((2, rows, len(looks)))
    origin = {d: origin_stage(d, o) for d, o in making.defects}
    strength, wrong = trade.value("causes", "link_strength"), trade.value("causes", "booked_wrong")
    row = 0
    for number, stage in enumerate(stages):
        here, count = looks_of(stage), len(stage_causes(stage))
        # a look put down to another stage speaks for this one only as far as bookings err
        trust = [wrong if origin.get(d, "") not in ("", stage) else 1.0 for d in here]
        columns = [place[d] for d in here]
        a, b = learned[stage]
        plus[row : row + count, columns] = a * trust
        minus[row : row + count, columns] = np.where(a > 0, a + b - a * trust, 0.0)
        chance = rows - len(stages) + number
        link = min(0.5, 1.2 / max(len(here), 1)) * np.array(trust)
        plus[chance, columns], minus[chance, columns] = strength * link, strength * (1.0 - link)
        row += count
    return plus, minus


def _booked_counts(cause_stages: Sequence[str], stages: Sequence[str]) -> tuple[Floats, Floats]:
    strength, right = (
        4.0 * trade.value("causes", "link_strength"),
        trade.value("causes", "booked_right"),
    )
    made = np.array([[float(s == t) for t in stages] for s in (*cause_stages, *stages)])
    return strength * right * made, strength * (1.0 - right) * made


def _verdict_counts(causes: Sequence[KnownCause], accidents: int) -> tuple[Floats, Floats]:
    strength, link = trade.value("causes", "link_strength"), trade.value("causes", "verdict_link")
    made = np.array([[float(bool(set(c.verdicts) & set(v))) for v in _VERDICTS] for c in causes])
    made = np.concatenate([made.reshape(len(causes), 2), np.zeros((accidents, 2))])
    return strength * link * made, strength * (1.0 - link) * made


def _looked(making: Making, looks: Sequence[str]) -> Floats:
    seen = {d for d, _ in making.defects}
    out = np.array([float(d in seen) for d in looks])
    return out if out.any() else np.full(len(looks), np.nan)


def _booked(making: Making, stages: Sequence[str]) -> Floats:
    if "fault" not in making.stages.values():
        return np.full(len(stages), np.nan)
    kind = {"fault": 1.0, "ok": 0.0}
    return np.array([kind.get(making.stages.get(s, ""), np.nan) for s in stages])


def _verdict(making: Making) -> Floats:
    if making.verdict is None:
        return np.full(2, np.nan)
    return np.array([float(making.verdict in words) for words in _VERDICTS])
