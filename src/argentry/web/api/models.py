"""What the API takes and gives. Strict: a word is not a number; nothing unknown is let through."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from argentry.records.event import KINDS

UUID_FORM = r"^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$"
LONGEST_AGE_S = 30 * 86400.0
MOST_EVENTS = 500

Id = Annotated[str, Field(pattern=UUID_FORM, description="UUID version 7, lower case")]
Word = Annotated[str, Field(min_length=1, max_length=64, pattern=r"^[^\x00-\x1f]*$")]
Text = Annotated[str, Field(min_length=1, max_length=200, pattern=r"^[^\x00-\x1f]*$")]
Number = Annotated[float, Field(allow_inf_nan=False)]
Age = Annotated[float, Field(ge=0, le=LONGEST_AGE_S, allow_inf_nan=False)]


class Strict(BaseModel):
    """What comes in: exact types, no unknown keys."""

    model_config = ConfigDict(strict=True, extra="forbid")


class EventIn(Strict):
    """One event as a device reports it."""

    id: Id
    kind: Annotated[Word, Field(json_schema_extra={"enum": list(KINDS)})]
    plate: Word | None = None
    step: Word | None = None
    body: Annotated[dict[str, Any], Field(max_length=40)] = Field(default_factory=dict)
    age_s: Age = Field(0.0, description="Seconds ago, by the device's own steady clock")


class EventsIn(Strict):
    """Events in the order they happened."""

    events: Annotated[list[EventIn], Field(min_length=1, max_length=MOST_EVENTS)]


class WishesIn(Strict):
    """What is asked of one day alone, in the words of the options of `argentry day`."""

    start: Word | None = None
    end: Word | None = None
    breaks: Annotated[list[Word], Field(max_length=12)] | None = None
    workers: Word | None = None
    frames: Word | None = None
    boxes: Word | None = None
    cameras: Word | None = None
    lamp: Word | None = None
    polished: Word | None = None
    seal_later: Word | None = None
    pose_under: Word | None = None
    sitters: Annotated[list[Text], Field(max_length=12)] | None = None


class PlanIn(Strict):
    """A day to be planned and run."""

    date: Annotated[str, Field(pattern=r"^(\d{4}-\d{2}-\d{2}|today|tomorrow)$")]
    plates: (
        Annotated[list[Word], Field(min_length=1, max_length=12)]
        | Annotated[int, Field(ge=1, le=12)]
    )
    wishes: WishesIn | None = None


class RunIn(Strict):
    """A run to be opened: from plates of the book, or from a day's plan."""

    title: Text | None = None
    plates: Annotated[list[Word], Field(min_length=1, max_length=12)] | None = None
    from_plan: PlanIn | None = None


class ReadingIn(Strict):
    """One measured value."""

    what: Word
    value: Number
    unit: Word | None = None
    at: Annotated[str, Field(max_length=40)] | None = None
    age_s: Age | None = None
    id: Id | None = None
    run: Id | None = None
    plate: Word | None = None


class Stored(BaseModel):
    """An event that is in the book for good."""

    id: str
    seq: int
    at: str
    duplicate: bool


class Turned(BaseModel):
    """An event that was not taken, and why."""

    id: str
    why: str


class EventsOut(BaseModel):
    """What became of each event."""

    stored: list[Stored]
    refused: list[Turned]


class RunOut(BaseModel):
    """The run opened."""

    run: str


class Refusal(BaseModel):
    """Why a request was not answered: one sentence."""

    error: str
