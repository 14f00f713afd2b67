"""What the plate book has taught, as plain records: odds, causes, speed, advice, trials."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import nan

FILE_VERSION = 2  # of the form of the file in which studios share what they learned
OLD_VERSION = 1  # still read: it does not say what its studio began with

# What a figure may be of, and the words for it.
FIGURE_KINDS = {
    "good": "share of good plates",
    "stage": "share of sound stages",
    "effect": "effect of a condition",
    "best": "best value of a condition",
    "matters": "chance that a condition matters",
    "number": "a number of the day plan",
}


@dataclass(frozen=True)
class Share:
    """A probability with its 80 % range and what stands behind it.

    Attributes
    ----------
    probability, low, high : float
        Middle, and the range that holds it four times in five. [1]
    plates : float
        Plates behind it; a plate whose fault is shared out over stages counts by its share.
        [plates]
    """

    probability: float
    low: float
    high: float
    plates: float


@dataclass(frozen=True)
class GoodOdds:
    """Odds that plates come out good.

    Attributes
    ----------
    one : Share
        Of one plate of which nothing is known; its range holds what tells plates apart.
    many : Share
        Share of good ones among many to come, over which that evens out.
    """

    one: Share
    many: Share


@dataclass(frozen=True)
class StageOdds:
    """The odds that one stage comes out sound.

    Attributes
    ----------
    stage : str
        Its key.
    share : Share
        The odds; 1 with no range for a stage that is known to be ok.
    done : bool
        True when it is known how the stage came out.
    known, unknown : tuple of str
        Conditions that were given, and those that were not and are taken as usual in this studio.
    """

    stage: str
    share: Share
    done: bool
    known: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()


@dataclass(frozen=True)
class RunningScore:
    """How well the other sessions predict each plate, against quoting their base rate.

    Attributes
    ----------
    plates : int
        Plates scored: all whose outcome is known.
    log_score, base_log_score : float
        Mean log of the probability given to what came: the model's and the base rate's; nearer 0
        is better. [nat]
    brier, base_brier : float
        Mean squared miss: the model's and the base rate's; smaller is better. [1]
    model_wins : bool
        Whether the model has predicted better than the base rate so far.
    """

    plates: int
    log_score: float
    base_log_score: float
    brier: float
    base_brier: float
    model_wins: bool


@dataclass(frozen=True)
class OddsShown:
    """The odds that a plate is good.

    Attributes
    ----------
    probability, low, high : float
        The figure shown, with its 80 % range: the model's, or the base rate. [1]
    plates : int
        Plates behind it.
    mostly_prior : bool
        True while starting assumptions weigh more than the plates.
    model_used : bool
        False while the model's running score does not beat the base rate.
    reason : str
        One sentence on where the figure comes from.
    """

    probability: float
    low: float
    high: float
    plates: int
    mostly_prior: bool
    model_used: bool
    reason: str


@dataclass(frozen=True)
class Odds(OddsShown):
    """The odds that a plate is good, at some point of its making.

    Attributes
    ----------
    by_stage : tuple of StageOdds
        In the order of the work.
    model : Share
        The model's figure, shown or not.
    base_rate : Share
        Share of good plates among those that came as far.
    running : RunningScore
        The score that decides between them.
    """

    by_stage: tuple[StageOdds, ...]
    model: Share
    base_rate: Share
    running: RunningScore


@dataclass(frozen=True)
class Effect:
    """What has been learned of one condition, beside what was believed.

    Attributes
    ----------
    condition : str
        Which.
    stage : str
        Stage it acts on.
    title : str
        In words.
    form : str
        more is worse, more is better, window, free or switch.
    unit : str
        Unit of its best value.
    effect, low, high : float
        What one width does to the probit of the stage, with its 80 % range: signed for a
        one-direction, free or switch condition; the fall one width off for a window. [probit]
    believed, believed_low, believed_high : float
        The same before any plate. [probit]
    plates : float
        Plates on which it was known. [plates]
    best, best_low, best_high : float or None
        Best value of a window with its range. [unit]
    source : str
        Where the belief comes from.
    widths : Mapping[str, float]
        By what it is counted: ``centre`` counts as 0, ``width`` as 1. [unit, or doublings]
    """

    condition: str
    stage: str
    title: str
    form: str
    unit: str
    effect: float
    low: float
    high: float
    believed: float
    believed_low: float
    believed_high: float
    plates: float
    best: float | None = None
    best_low: float | None = None
    best_high: float | None = None
    source: str = ""
    widths: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class SharedFigure:
    """One thing that a studio's plates taught.

    Attributes
    ----------
    kind : str
        One of `FIGURE_KINDS`.
    of : str
        The stage, the condition or the number; empty for the share of good plates.
    stage : str
        Stage on which a condition acts; else empty.
    value, low, high : float
        Middle and 80 % range. [1, probit per width, or the number's unit]
    plates : float
        Plates behind it. [plates]
    believed, believed_low, believed_high : float
        The same before any plate; NaN in a file of version 1, which does not say.
    """

    kind: str
    of: str
    stage: str
    value: float
    low: float
    high: float
    plates: float
    believed: float = nan
    believed_low: float = nan
    believed_high: float = nan

    @property
    def key(self) -> tuple[str, str, str]:
        """Return what it is of, the same in every file."""
        return self.kind, self.stage, self.of


@dataclass(frozen=True)
class SharedStudio:
    """What one studio shares.

    Attributes
    ----------
    name : str
        Of the file it came from; empty when it is to be written.
    plates : int
        Plates whose end is known.
    materials : tuple of (str, str)
        What it works with, in generic words.
    figures : tuple of SharedFigure
        What its plates taught.
    version : int
        Of the form of its file.
    """

    name: str
    plates: int
    materials: tuple[tuple[str, str], ...]
    figures: tuple[SharedFigure, ...]
    version: int = FILE_VERSION


@dataclass(frozen=True)
class PooledFigure:
    """One starting assumption that files of other studios changed.

    Attributes
    ----------
    kind, of, stage : str
        As in `SharedFigure`.
    value, low, high : float
        What is assumed now, with its 80 % range over studios; as shown, a stage of an average
        plate. [unit]
    believed, believed_low, believed_high : float
        The trade's word. [unit]
    plates : float
        Plates of other studios behind it. [plates]
    files : tuple of str
        Names of the files it comes from.
    """

    kind: str
    of: str
    stage: str
    value: float
    low: float
    high: float
    believed: float
    believed_low: float
    believed_high: float
    plates: float
    files: tuple[str, ...]


@dataclass(frozen=True)
class Adopted:
    """What files of other studios let assume.

    Attributes
    ----------
    files : tuple of str
        Names of the files that count.
    left_out : tuple of str
        Names of files that do not fit the others.
    plates : int
        Plates of the files that count.
    figures : tuple of PooledFigure
        Starting assumptions in place of the trade's.
    """

    files: tuple[str, ...]
    left_out: tuple[str, ...]
    plates: int
    figures: tuple[PooledFigure, ...]
