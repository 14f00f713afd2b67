"""What the plates have taught, worked out once and kept while the plates stay the same."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from argentry.learn.causes.plate_causes import StudioPast
    from argentry.learn.odds.odds import Fitted
    from argentry.learn.stages.assumed import Assumed
    from argentry.records.causes import StudioCauses
    from argentry.records.plate import Making

KEPT = 4  # logs of plates: an open server and its studio's plates less one


@dataclass(frozen=True)
class Log:
    """Makings that are equal when all that is said in them is."""

    digest: str
    makings: tuple[Making, ...] = field(compare=False)
    assumed: Assumed | None = field(compare=False)


def digest(makings: Sequence[Making]) -> str:
    """Return a short word that is another one whenever anything said of the plates is."""
    said = "\n".join(sorted(repr(one) for one in makings))
    return hashlib.sha256(said.encode()).hexdigest()


def log_of(makings: Sequence[Making], assumed: Assumed | None) -> Log:
    """Return makings, and what was assumed before them, as a key for what they teach."""
    return Log(f"{digest(makings)} {assumed!r}", tuple(makings), assumed)


def fitted(makings: Sequence[Making], assumed: Assumed | None = None) -> Fitted:
    """Return the odds model of some plates; `assumed` before them, by default by the trade."""
    return _fitted(log_of(makings, assumed))


@lru_cache(maxsize=KEPT)
def _fitted(log: Log) -> Fitted:
    from argentry.learn.odds.odds import fit

    return fit(log.makings, assumed=log.assumed)


def causes_of_studio(makings: Sequence[Making], assumed: Assumed | None = None) -> StudioCauses:
    """Return what explains the failures over some plates."""
    return _causes(log_of(makings, assumed))


@lru_cache(maxsize=KEPT)
def _causes(log: Log) -> StudioCauses:
    from argentry.learn.causes.drift_charts import studio_charts

    return replace(_fitted(log).causes, charts=studio_charts(log.makings))


def past_of_studio(makings: Sequence[Making], assumed: Assumed | None = None) -> StudioPast:
    """Return what some plates say of causes in general."""
    return _past(log_of(makings, assumed))


@lru_cache(maxsize=KEPT)
def _past(log: Log) -> StudioPast:
    from argentry.learn.causes.plate_causes import studio_past

    return studio_past(log.makings, _fitted(log).views)
