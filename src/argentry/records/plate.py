"""What the plate book holds beside the event log: plates, makings, baths, lots, readings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from argentry.records.run import GivenUp
from argentry.records.studio import USUAL_SIZE

GRADES = ("lost", "study", "good", "fine")  # in order; good and fine count as good
STAGES = ("polish", "coat", "exposure", "development", "finish")
VERDICTS = ("blank", "under", "right", "over", "solarised")
IMPORTED = "imported"  # stands for who noted what came in with a notebook
WITHDRAWN = "withdrawn"  # opened by mistake, or its only step taken back: no making any more
MAKING_STATES = ("going", "finished", "given_up")


@dataclass(frozen=True)
class Plate:
    """One silvered plate.

    Attributes
    ----------
    id : str
        Its id, UUID version 7.
    label : str
        What is scratched on its back or written in the ledger; unique in the book.
    size : str
        Plate size by name.
    made_on : date or None
        When it was plated or bought.
    silver_um : float or None
        Silver thickness. [µm]
    silver_source : str
        Who plated it, or of which lot it is.
    times_repolished : int
        How often it was polished back and used again.
    remark : str
        Anything else.
    """

    id: str
    label: str
    size: str = USUAL_SIZE
    made_on: date | None = None
    silver_um: float | None = None
    silver_source: str = ""
    times_repolished: int = 0
    remark: str = ""


@dataclass(frozen=True)
class Said:
    """One word said of a making, kept also when a later one took its place.

    Attributes
    ----------
    at : datetime
        When, UTC.
    by : str
        Who, or on which device.
    what : str
        ``"grade"``, ``"verdict"``, ``"stage"`` or ``"defect"``.
    of : str
        Which stage or defect; empty for a grade and a verdict.
    said : str or None
        The grade, verdict, state of the stage, or the step a defect came from; None: taken back.
    """

    at: datetime
    by: str
    what: str
    of: str
    said: str | None


@dataclass(frozen=True)
class MakingFacts:
    """What a making and its record both hold.

    Attributes
    ----------
    id : str
        UUID version 7.
    plate : str
        Id of the plate.
    run : str or None
        Id of its run; null for one from a notebook.
    session : str
        Day or sitting that plates of one day share.
    order : int
        Place within the session.
    day : date
        When.
    commissioned : bool
        True when the plate was promised to somebody: no trials on it.
    conditions : Mapping[str, float | str]
        What was known: condition (a key of the documented columns, or one of the maker's own) to
        value, in that column's unit. Missing conditions are absent.
    stages : Mapping[str, str]
        Stage to ``"ok"`` or ``"fault"``; stages not reached are absent.
    verdict : str or None
        On the exposure: blank, under, right, over or solarised.
    grade : str or None
        Lost, study, good or fine; null while it is not graded.
    remark : str
        Anything else.
    state : str
        going, finished or given_up.
    """

    id: str
    plate: str
    run: str | None
    session: str
    order: int
    day: date
    commissioned: bool = False
    conditions: Mapping[str, float | str] = field(default_factory=dict)
    stages: Mapping[str, str] = field(default_factory=dict)
    verdict: str | None = None
    grade: str | None = None
    remark: str = ""
    state: str = "finished"


@dataclass(frozen=True)
class Making(MakingFacts):
    """One passage of a plate through the steps: what was known of it, and how it came out.

    It begins with its first step and ends finished or given up. A plate opened and never begun is
    none.

    Attributes
    ----------
    defects : tuple of (str, str)
        Defect key and key of the step it came from.
    given_up : GivenUp or None
        Why, when it was given up.
    strips : tuple of (float, str)
        Of a test plate whose picture was read and confirmed: each strip's light against that of the
        exposure written down [stops], and its verdict.
    ripe_seen : (float, float) or None
        Light at which pictures through the filter alone said that it is ripe, taken by a hand, and
        the standard deviation of its logarithm. [kJ/m2; 1]
    broken_off : tuple of str
        Columns of the lengths of steps that were not carried to their end when it was given up.
    """

    defects: tuple[tuple[str, str], ...] = ()
    given_up: GivenUp | None = None
    strips: tuple[tuple[float, str], ...] = ()
    ripe_seen: tuple[float, float] | None = None
    broken_off: tuple[str, ...] = ()


@dataclass(frozen=True)
class Reading:
    """One measured value outside or inside a run.

    Attributes
    ----------
    id : str
        UUID version 7.
    what : str
        Quantity: a key of ``readings.toml``.
    value : float
        [unit]
    unit : str
        Unit of the quantity.
    at : datetime
        When, UTC.
    source : str
        Person or sensor.
    run, plate : str or None
        Where it belongs, when it does.
    doubt : str
        Empty when it may be used; else why not (out of range, jumped, clock wrong).
    """

    id: str
    what: str
    value: float
    unit: str
    at: datetime
    source: str
    run: str | None = None
    plate: str | None = None
    doubt: str = ""


TAKEN_FROM = ("file", "upload")
CARRIES = ("", "place", "names", "place and names")


@dataclass(frozen=True)
class Photograph:
    """One picture of a plate, kept by its content.

    Attributes
    ----------
    sha256 : str
        Hash of the bytes; the file's name in the book's ``pictures`` folder.
    plate : str
        Id of the plate.
    kind : str
        ``"coat"``, ``"development"``, ``"plate"``, ``"scan"``...
    taken_at : datetime
        UTC.
    media_type : str
        ``"image/jpeg"``, ``"image/png"``, ``"image/tiff"``, ``"image/heic"``,
        ``"image/x-adobe-dng"``.
    bytes : int
        Length. [bytes]
    width_px, height_px : int or None
        Size, turned upright; None when it was not looked into. [px]
    said : Mapping of str to str
        What the maker stated of it, such as the light.
    named : str
        Name of the file as it came, cleaned.
    taken_from : str
        Where `taken_at` comes from: ``"file"``, or ``"upload"`` when the file has no time.
    carries : str or None
        What the original says of its maker: ``""`` nothing, ``"place"`` where it was taken,
        ``"names"``, ``"place and names"``; None when it was not looked into.
    """

    sha256: str
    plate: str
    kind: str
    taken_at: datetime
    media_type: str
    bytes: int
    width_px: int | None = None
    height_px: int | None = None
    said: Mapping[str, str] = field(default_factory=dict)
    named: str = ""
    taken_from: str = "upload"
    carries: str | None = None


JUDGED = ("coat", "scale", "plate", "wedge", "change", "ripening")


@dataclass(frozen=True)
class Judged:
    """One reading of a picture; the last of a picture and kind counts.

    Attributes
    ----------
    picture : str
        SHA-256 of the picture.
    plate : str
        Id of the plate.
    kind : str
        One of `JUDGED`.
    judged_at : datetime
        When it was read. [UTC]
    version : str
        Of the code that read it.
    answer : Mapping
        What was read, as the command's JSON has it.
    confirmed_at : datetime or None
        When the maker said that it is so.
    struck : Mapping
        Findings the maker struck out, each with why.
    second_picture : str or None
        Of a change: the picture after.
    """

    picture: str
    plate: str
    kind: str
    judged_at: datetime
    version: str
    answer: Mapping[str, Any]
    confirmed_at: datetime | None = None
    struck: Mapping[str, str] = field(default_factory=dict)
    second_picture: str | None = None
