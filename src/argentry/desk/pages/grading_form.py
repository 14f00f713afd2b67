"""How did it come out? The form on a plate's page: the bench's questions, all on one page."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256

from argentry.bench.questions import Form, body
from argentry.book.engine import Book
from argentry.book.from_runs import LONGEST_WORDS
from argentry.book.judgements import Judgement
from argentry.book.log import events as read_events
from argentry.book.makings import making as making_of
from argentry.book.makings import rejudge
from argentry.book.runs.fold import fold
from argentry.errors import BadInput
from argentry.keeping.plates.grades import GRADE_LATER, add_event
from argentry.records.plate import GRADES, STAGES, VERDICTS, MakingFacts
from argentry.records.plate_record import MakingRecord
from argentry.records.run import PlateState, RunState
from argentry.trade.defects import defects
from argentry.trade.steps import stage_of

CHANGED = "this making was graded {grade} after the page was opened"
SHOW_AGAIN = "show the plate's page again, and correct what stands there now"
DEFECT, FAILED = "defect", "failed"  # first parts of the names of the form's boxes


@dataclass(frozen=True)
class Choice:
    """One thing that may be chosen.

    Attributes
    ----------
    name : str
        Its name in the form.
    key : str
        Its value in the form.
    words : str
        What is read.
    chosen : bool
        True when it is chosen now.
    """

    name: str
    key: str
    words: str
    chosen: bool


@dataclass(frozen=True)
class StageChoices:
    """One stage with the defects that may come from it.

    Attributes
    ----------
    stage : str
        The stage.
    choices : tuple of Choice
        Its defects, and that it failed with a defect not listed.
    chosen : bool
        True when one of them is chosen.
    """

    stage: str
    choices: tuple[Choice, ...]
    chosen: bool


@dataclass(frozen=True)
class GradingForm:
    """The form of one making, filled in with what was said so far.

    Attributes
    ----------
    making : str
        Id of the making.
    grades, verdicts : tuple of Choice
        As the trade has them.
    stages : tuple of StageChoices
        In the order of the work.
    remark : str or None
        As it stands; None for a row of a notebook, whose remark stays.
    shown : str
        Of what it is filled in with: sent along, so that another page's answer is not lost.
    """

    making: str
    grades: tuple[Choice, ...]
    verdicts: tuple[Choice, ...]
    stages: tuple[StageChoices, ...]
    remark: str | None
    shown: str


def grading_form(making: MakingRecord) -> GradingForm:
    """Return the form of a making."""
    verdicts = [("", "cannot say"), *((word, word) for word in VERDICTS)]
    return GradingForm(
        making=making.id,
        grades=tuple(Choice("grade", word, word, word == making.grade) for word in GRADES),
        verdicts=tuple(
            Choice("verdict", key, words, key == (making.verdict or "")) for key, words in verdicts
        ),
        stages=tuple(_stage(stage, making) for stage in STAGES),
        remark=making.remark if making.run else None,
        shown=_shown(making, [(one.defect, one.from_) for one in making.defects]),
    )


def _shown(making: MakingFacts, found: Iterable[tuple[str, str]]) -> str:
    """Return a digest of how a making came out, as it stands in the book."""
    stands = (making.grade, making.verdict, sorted(making.stages.items()), sorted(found))
    return sha256(repr((*stands, making.remark)).encode()).hexdigest()[:16]


def _stage(stage: str, making: MakingRecord) -> StageChoices:
    noted = {one.defect: one.from_ for one in making.defects}
    found = []
    for entry in defects().values():
        if stage in entry.stages:
            origin = noted.get(entry.key, "")
            place = stage_of().get(origin, origin)
            if origin in entry.steps and place not in entry.stages:
                place = entry.stages[0]
            here = place == stage
            found.append(Choice(f"{DEFECT}.{entry.key}.{stage}", "on", entry.look, here))
    chosen = any(one.chosen for one in found)
    failed = making.stages.get(stage) == "fault"
    other = Choice(
        f"{FAILED}.{stage}", "on", "it failed, with none of these", failed and not chosen
    )
    return StageChoices(stage, (*found, other), chosen or failed)


def grade_by_form(
    book: Book, key: str, fields: Mapping[str, str], *, by: str, at: datetime
) -> None:
    """Grade a making by the form; what was said before stays in the log.

    Raises
    ------
    BadInput
        If the book does not hold it, a word is unknown, or it was graded since the form was shown.
    """
    making = making_of(book, key)
    if making is None:
        raise BadInput("making", "it is not in the book", "open the plate's page again")
    if making.state == "going":
        raise BadInput("grade", "this making is still on the bench", GRADE_LATER)
    form = _answered(making.plate, fields)
    stands = _shown(making, making.defects)
    if fields.get("shown", stands) != stands:
        raise BadInput("grade", CHANGED, SHOW_AGAIN, grade=making.grade or "not at all")
    state, plate = _of_run(book, making.run, making.plate)
    told = body(form, plate, state)
    if making.run is not None:
        add_event(book, making.run, "making_graded", making.plate, told, by, at)
        return
    judgement = Judgement(form.grade, form.verdict, told["stages"], form.defects)
    rejudge(book, making.id, judgement, by, at)


def _answered(plate: str, fields: Mapping[str, str]) -> Form:
    """Return the bench's own form as these fields fill it in."""
    grade, verdict = fields.get("grade", ""), fields.get("verdict", "")
    if grade not in GRADES:
        raise BadInput(
            "grade", "none is chosen", "choose one of {grades}", grades=", ".join(GRADES)
        )
    if verdict and verdict not in VERDICTS:
        raise BadInput(
            "exposure",
            "{verdict!r} is not known",
            "use {verdicts}",
            verdict=verdict[:20],
            verdicts=", ".join(VERDICTS),
        )
    seen, failed = [], []
    for name in fields:
        kind, _, rest = name.partition(".")
        defect, _, stage = rest.partition(".")
        if kind == DEFECT:
            if defect not in defects() or stage not in defects()[defect].stages:
                raise BadInput(
                    "defect", "{rest!r} is not known", "choose one from the form", rest=rest
                )
            seen.append((defect, stage))
            failed.append(stage)
        elif kind == FAILED and rest in STAGES:
            failed.append(rest)
    return Form(
        plate=plate,
        label="",
        grade=grade,
        verdict=verdict or None,
        faults=tuple(dict.fromkeys(failed)),
        defects=tuple(seen),
        words=fields.get("words", "").strip()[:LONGEST_WORDS],
    )


def _of_run(book: Book, run: str | None, plate: str) -> tuple[RunState, PlateState]:
    """Return how the run and the plate stand; for a row of a notebook, ones without steps."""
    state = fold(read_events(book, run)) if run else RunState("", "", "none", None)
    own = next((one for one in state.plates if one.id == plate), None)
    return state, own or PlateState(plate, "", "done", paused=False, current=None, why="", steps=())
