"""A plate's record: the work on it, and every making as planned, done, read, advised and judged."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from argentry.records.plate import MakingFacts, Photograph, Plate

# plated again takes the plate back to its first silver; polished_back uses it again
RENAMED = "renamed"  # its label changed; the remark says from what to what
WORKS = ("plated", "polished", "polished_back", "recoated", RENAMED)
FREES = ("polished_back", "plated")  # after these no picture is on it


@dataclass(frozen=True)
class PlateWork:
    """One piece of work on a plate.

    Attributes
    ----------
    id : str
        Its id, UUID version 7.
    plate : str
        Id of the plate.
    kind : str
        Plated, polished, polished_back, recoated or renamed.
    at : datetime
        When, UTC.
    who : str
        By whom.
    remark : str
        With what, how long, anything else.
    """

    id: str
    plate: str
    kind: str
    at: datetime
    who: str = ""
    remark: str = ""


@dataclass(frozen=True)
class StepAnswer:
    """The answer to a check of a step.

    Attributes
    ----------
    at : datetime
        When.
    check : str
        What was asked.
    answer : str
        ``"right"``, ``"doubtful"`` or ``"wrong"``.
    value : float or None
        Number given with it. [as the check asks]
    words : str
        Remark given with it.
    """

    at: datetime
    check: str
    answer: str
    value: float | None
    words: str


@dataclass(frozen=True)
class StepRecord:
    """One step of a making: as planned and as done.

    Attributes
    ----------
    key : str
        Key of the step.
    title : str
        What the hands do.
    stage : str
        Stage of the work.
    attended : bool
        True when it needs hands all the time.
    state : str
        As the bench left it: waiting, ready, running, done, skipped or stopped; redone of one
        that was done once more afterwards.
    planned_start, planned_end : datetime or None
        As planned when the run was opened; null where the plan had no hour for it.
    begun, ended : datetime or None
        As done.
    planned_s : float
        Length as planned when the run was opened. [s]
    settled_s, low_s, high_s : float
        Length that readings and light had made of it, and its 80 % range. [s]
    elapsed_s : float or None
        Length as done, without pauses; null when it was not done. [s]
    short : bool
        True when the clock saw far less than the least planned.
    answers : tuple of StepAnswer
        Its checks as answered.
    changes : tuple of str
        Why its planned length changed, in words.
    """

    key: str
    title: str
    stage: str
    attended: bool
    state: str
    planned_start: datetime | None
    planned_end: datetime | None
    begun: datetime | None
    ended: datetime | None
    planned_s: float
    settled_s: float
    low_s: float
    high_s: float
    elapsed_s: float | None
    short: bool
    answers: tuple[StepAnswer, ...]
    changes: tuple[str, ...]


@dataclass(frozen=True)
class ReadingRecord:
    """One reading taken during a making.

    Attributes
    ----------
    at : datetime
        When.
    what : str
        Key of the quantity.
    title : str
        What it is.
    value : float
        The value in its unit.
    unit : str
        Its unit.
    source : str
        Who or what measured it.
    """

    at: datetime
    what: str
    title: str
    value: float
    unit: str
    source: str


@dataclass(frozen=True)
class AdviceRecord:
    """The odds and the advice at one checkpoint, and what was done.

    Attributes
    ----------
    at : datetime
        When they were given.
    stage : str
        The stage that was over.
    advice : str
        ``"continue"``, ``"redo"``, ``"stop"`` or ``"check"``.
    words : str
        The advice in words.
    probability, low, high : float
        Chance of a good plate as predicted then, with its 80 % range. [1]
    plates : int
        Plates behind it.
    did : str or None
        What was done instead, where the advice was not followed.
    """

    at: datetime
    stage: str
    advice: str
    words: str
    probability: float
    low: float
    high: float
    plates: int
    did: str | None


@dataclass(frozen=True)
class DoseRecord:
    """Light received against light needed.

    Attributes
    ----------
    what : str
        ``"exposure"`` or ``"development"``.
    received : float
        Light received. [kJ/m2]
    needed, needed_low, needed_high : float
        Light that such plates need by what the other plates teach, with the range of four in five
        as it would be counted. [kJ/m2]
    plates : int
        Other plates behind the need; 0 where it is the trade's starting value or the studio file's.
    """

    what: str
    received: float
    needed: float
    needed_low: float
    needed_high: float
    plates: int


@dataclass(frozen=True)
class DefectRecord:
    """One defect of a making.

    Attributes
    ----------
    defect : str
        Its key.
    from_ : str
        Step or stage it is put down to.
    look : str
        What it looks like; empty for one that is not in the catalogue.
    causes : tuple of str
        Its usual causes.
    remedy : str
        What to change on the next plate.
    mends : bool or None
        False when what is on the plate surely stays; null where that is not known.
    """

    defect: str
    from_: str
    look: str
    causes: tuple[str, ...]
    remedy: str
    mends: bool | None


@dataclass(frozen=True)
class KnownRecord:
    """One condition, for reading.

    Attributes
    ----------
    words : str
        What it is.
    value : float or str
        Its value.
    unit : str
        Its unit; empty for words and counts.
    """

    words: str
    value: float | str
    unit: str


@dataclass(frozen=True)
class SaidRecord:
    """One judgement, kept also when a later one took its place.

    Attributes
    ----------
    at : datetime
        When.
    by : str
        Who, or on which device.
    words : str
        What was said.
    """

    at: datetime
    by: str
    words: str


@dataclass(frozen=True, kw_only=True)
class MakingRecord(MakingFacts):
    """One making of the plate.

    Attributes
    ----------
    title : str
        Name of the run.
    sitter : str
        Who came for the plate by appointment, and when; empty for nobody.
    run_plates : tuple of str
        Labels of the plates of that run, in its order.
    given_up : str
        Why it was given up, in words; empty otherwise.
    known : tuple of KnownRecord
        Its conditions for reading, in the order of the work.
    defects : tuple of DefectRecord
        As noted.
    steps : tuple of StepRecord
        In the order of the run, a step that was done once more with each try; empty without a run.
    readings : tuple of ReadingRecord
        In order of time.
    remarks : tuple of SaidRecord
        Remarks made at the bench.
    advice : tuple of AdviceRecord
        Odds and advice at each checkpoint.
    doses : tuple of DoseRecord
        Light received against light needed.
    judgements : tuple of SaidRecord
        All that was ever said of how it came out, the old grades too.
    """

    title: str
    sitter: str
    run_plates: tuple[str, ...]
    given_up: str
    known: tuple[KnownRecord, ...]
    defects: tuple[DefectRecord, ...]
    steps: tuple[StepRecord, ...]
    readings: tuple[ReadingRecord, ...]
    remarks: tuple[SaidRecord, ...]
    advice: tuple[AdviceRecord, ...]
    doses: tuple[DoseRecord, ...]
    judgements: tuple[SaidRecord, ...]


@dataclass(frozen=True, kw_only=True)
class PlateRecord(Plate):
    """All that the book knows of one plate.

    Attributes
    ----------
    work : tuple of PlateWork
        Work on it, in order of time.
    outcomes : tuple of MakingRecord
        Its makings, the latest last.
    pictures : tuple of Photograph
        Its pictures.
    read : tuple of str
        What was read out of each, in words, and whether the maker said that it is so; empty where
        the record is shown on a page, which tells it beside the picture.
    """

    work: tuple[PlateWork, ...]
    outcomes: tuple[MakingRecord, ...]
    pictures: tuple[Photograph, ...]
    read: tuple[str, ...] = ()
