"""The plan that stands in a run, and the new ones that are offered, taken or turned down."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from argentry.book.runs.corrections import read_moment
from argentry.records.run_plan import MorePlate, PlannedTime, PlanOffer

if TYPE_CHECKING:
    from collections.abc import Mapping

    from argentry.book.runs.moving import MovingPlate, MovingRun
    from argentry.records.event import Event

    Rows = Mapping[str, Mapping[str, PlannedTime]]

NO_OFFER = "no such plan was offered in this run"
ANSWERED = "the plan was {word} already"
OVERTAKEN = "a newer plan was offered since"


def opened_plan(body: Mapping[str, Any]) -> Rows:
    """Return the plan a run was opened with, by plate and step; of older runs the begins only."""
    if "plan" in body:
        return _rows(body["plan"])
    constants = body.get("constants")
    starts = constants.get("starts") if isinstance(constants, dict) else None
    return _rows(
        {
            plate: {step: {"start": start} for step, start in own.items()}
            for plate, own in _table(starts).items()
            if isinstance(own, dict)
        }
    )


def _rows(value: Any) -> Rows:
    return {
        plate: {
            key: time
            for key, row in _table(own).items()
            if (time := _time(_table(row))) is not None
        }
        for plate, own in _table(value).items()
    }


def _table(value: Any) -> dict[str, Any]:
    return value if isinstance(value, dict) else {}


def _time(row: Mapping[str, Any]) -> PlannedTime | None:
    start = read_moment(row.get("start"))
    if start is None:
        return None
    end, latest = read_moment(row.get("end")), read_moment(row.get("latest"))
    limit, held = (str(row.get(name) or "") for name in ("limit", "held"))
    return PlannedTime(start, end, latest, limit, held)


def offered(run: MovingRun, event: Event) -> None:
    """Note a new plan; it takes the place of one that waits for its answer."""
    if run.closed:
        run.doubt(event, "the run was over")
        return
    body = event.body
    moved = [one for one in _list(body.get("moved")) if _is_pair(one)]
    run.offer = PlanOffer(
        event=event.id,
        at=event.at,
        why=str(body.get("why") or ""),
        lines=tuple(one for one in _list(body.get("lines")) if isinstance(one, str)),
        moved=tuple((plate, step) for plate, step in moved),
        left_out=tuple(
            one for one in _list(body.get("left_out")) if isinstance(one, str) and one in run.plates
        ),
        kept_share=_share(body.get("kept_share")),
        share=_share(body.get("share")),
        more=_more(run, body.get("more")),
    )
    run.offers[event.id] = run.offer, _rows(body.get("plan"))


def _more(run: MovingRun, value: Any) -> MorePlate | None:
    """Return the plate more of an offer; None for none, and for one that was taken already."""
    row = _table(value)
    plate, label, once = row.get("id"), row.get("label"), _list(row.get("once"))
    if not (isinstance(plate, str) and isinstance(label, str) and plate and label):
        return None
    if plate in run.plates:
        return None
    return MorePlate(plate, label, tuple(key for key in once if isinstance(key, str)))


def taken(run: MovingRun, event: Event) -> None:
    """Let the plan offered stand from now on, for every step that is not over."""
    found = _answered(run, event, "taken")
    if found is None:
        return
    offer, rows = found
    run.standing = offer.event
    for plate in run.plates.values():
        plate.left_out = plate.id in offer.left_out
        own = {} if plate.left_out else rows.get(plate.id, {})
        for key, step in plate.steps.items():
            row = own.get(key)
            if step.state == "running" and row is not None and step.plan is not None:
                step.plan = replace(step.plan, end=row.end)
            elif step.state == "waiting" and (row is not None or plate.left_out):
                step.plan = row


def declined(run: MovingRun, event: Event) -> None:
    """Go on with the plan that stood."""
    found = _answered(run, event, "turned down")
    if found is not None:
        run.turned_down.append(found[0].event)


def _answered(run: MovingRun, event: Event, word: str) -> tuple[PlanOffer, Rows] | None:
    """Return the offer that an event answers, or None and a doubt."""
    offer = event.body.get("offer")
    known = run.offers.get(offer) if isinstance(offer, str) else None
    if run.closed:
        run.doubt(event, "the run was over")
    elif known is None:
        run.doubt(event, NO_OFFER)
    elif run.offer is not None and run.offer.event == offer:
        run.offer = None
        run.answers[offer] = word
        return known
    else:
        said = run.answers.get(known[0].event)
        run.doubt(event, OVERTAKEN if said is None else ANSWERED.format(word=said))
    return None


def _list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []


def _is_pair(value: Any) -> bool:
    return isinstance(value, list) and len(value) == 2 and all(isinstance(v, str) for v in value)


def _share(value: Any) -> float | None:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return None
    return float(value) if 0.0 <= value <= 1.0 else None


def plan_of(plate: MovingPlate, rows: Rows) -> None:
    """Give a plate the times of the plan its run was opened with."""
    for key, row in rows.get(plate.id, {}).items():
        if key in plate.steps:
            plate.steps[key].plan = row
