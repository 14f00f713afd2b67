"""Why plates fail in this studio: conditions and looks weighed together, stage by stage.

Verdicts never come from one condition at a time: a condition that goes with the true cause (a hot
day with a damp one) would be blamed with it, and the more surely the more plates there are.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.learn.causes.appearance import (
    believed_looks,
    blame,
    looks_follow,
    stage_causes,
    stage_looks,
)
from argentry.learn.causes.drift_charts import studio_charts
from argentry.learn.causes.guilty_stage import DRAWS, Unbooked, unbooked
from argentry.learn.causes.inclusion import bootstrap_weights, weigh
from argentry.learn.causes.leaning import leaning, moved
from argentry.learn.causes.suspects import SINCE, elsewhere, shaped, suspects
from argentry.learn.stages.assumed import of_trade
from argentry.learn.stages.table import in_order, stage_tables, succeeded
from argentry.physics.stops import Z80
from argentry.records.causes import StudioCause, StudioCauses
from argentry.trade.causes import known_causes

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from argentry.arrays import Floats
    from argentry.learn.causes.appearance import Looks
    from argentry.learn.causes.inclusion import Suspects, Weighed
    from argentry.learn.causes.leaning import Leaning
    from argentry.learn.causes.suspects import Side
    from argentry.learn.stages.assumed import Assumed
    from argentry.learn.stages.table import StageTable
    from argentry.records.plate import Making


CHANGED = (
    "Since about {day} the {stage} fails {word} often, for no reason that is written down: think "
    "of what was new then (bottle, box, buff, water)."
)
OTHER_WORD = "other than {word}"
MORE_OFTEN, LESS_OFTEN = "more", "less"
SEED = 20250101
RANGE = (0.1, 0.9)  # holds four chances in five
LEANS = "{toward} of {off} exposures judged wrong were wrong in this direction."
NONE_FAILED = "No plate of {plates} has failed so far: nothing to explain."
NO_PLATE = "No plate has failed so far: nothing to explain."


@dataclass(frozen=True)
class StageView:
    """One stage, weighed.

    Attributes
    ----------
    table : StageTable
        Its plates.
    data : Suspects
        Its suspects.
    sides : tuple of Side
        What each suspect is.
    weighed : Weighed
        Sets of suspects.
    looks : Looks
        Looks of its faults.
    follow : float
        As by `looks_follow`, of the whole studio.
    weights : Floats
        (1 + draws, sets) posterior of each set; the first row is the answer, the others its range.
    blame : Floats
        (sets, suspects + causes + 1) faults put down to each, in plates.
    made_by : Floats
        (faults, suspects + causes + 1) how likely each made each fault, if its stage failed.
    faults : float
        Faults, in plates.
    behind : float
        Faults behind what is said of its conditions: its own, or those that nobody booked. [plates]
    lean : Mapping[str, Leaning]
        By key of a cause how far what was judged of the plates leans to it.
    """

    table: StageTable
    data: Suspects
    sides: tuple[Side, ...]
    weighed: Weighed
    looks: Looks
    follow: float
    weights: Floats
    blame: Floats
    made_by: Floats
    faults: float
    behind: float
    lean: Mapping[str, Leaning]


def stage_views(
    makings: Sequence[Making],
    *,
    loose: Unbooked | None = None,
    assumed: Assumed | None = None,
) -> Mapping[str, StageView]:
    """Return each stage of the work, weighed.

    Parameters
    ----------
    makings : sequence of Making
        The studio's plates, in any order.
    loose : Unbooked, optional
        What plates without a booked fault say, if that is known already.
    assumed : Assumed, optional
        Before any plate; None: by the trade.

    Returns
    -------
    Mapping[str, StageView]
        By stage.
    """
    ordered = in_order(makings)
    assumed = assumed or of_trade()
    loose = loose or unbooked(makings, assumed)
    tables = stage_tables(makings, believed=(*assumed.conditions, *elsewhere()), blame=loose.blame)
    faults = {stage: [ordered[r] for r in t.row[~t.ok]] for stage, t in tables.items()}
    looks = {s: stage_looks(s, faults[s], t.weight[~t.ok]) for s, t in tables.items()}
    follow = looks_follow(looks.values())
    return {
        stage: _view(
            t, faults[stage], looks[stage], follow, loose, assumed.stages[stage].probit,
            leaning(stage_causes(stage), ordered, np.random.default_rng(SEED)),
        )
        for stage, t in tables.items()
    }  # fmt: skip


def _view(
    table: StageTable,
    faults: Sequence[Making],
    looks: Looks,
    follow: float,
    loose: Unbooked,
    ok: tuple[float, float],
    lean: Mapping[str, Leaning],
) -> StageView:
    mean, sd = ok
    weighing = partial(
        weigh, session_sd=trade.value("causes", "session_sd"), base_mean=-mean, base_sd=sd
    )
    data, sides = shaped(table, *suspects(table), weighing)
    weighed = weighing(data)
    faulty = ~table.ok
    weight = table.weight[faulty]
    gain, shares = blame(weighed, data.x, faulty, sides, looks)
    apart = [(cause, lean.get(cause.key)) for cause in stage_causes(table.stage)]
    shares = moved(shares, len(sides), faults, apart)
    gain = gain * weight
    by_session = np.zeros_like(weighed.by_session)
    np.add.at(by_session.T, data.session[faulty], gain.T)
    again = bootstrap_weights(by_session.shape[1], DRAWS, np.random.default_rng(SEED))
    again = np.concatenate([np.zeros((1, by_session.shape[1])), again])
    open_ = loose.share(follow)
    extra = (1.0 - open_) * (again @ weighed.by_session.T) + believed_looks(
        gain.sum(axis=1) + again @ by_session.T, follow
    )
    # as far as faults are not booked, what the whole plates say stands for what the stage's would
    none = np.zeros(1 + DRAWS)
    each = [loose.gain.get((table.stage, side.name, side.side), none) for side in sides]
    told = np.stack(each, axis=1) if each else np.zeros((1 + DRAWS, 0))
    told /= np.bincount(data.group_of())[data.group_of()]  # words of a column count as one
    extra += open_ * (told @ weighed.members.T - weighed.log_evidence)
    weights = weighed.weights(extra)
    return StageView(
        table=table,
        data=data,
        sides=sides,
        weighed=weighed,
        looks=looks,
        follow=follow,
        weights=weights,
        blame=np.einsum("mfc,f->mc", shares, weight),
        made_by=np.einsum("m,mfc->fc", weights[0], shares),
        faults=float(weight.sum()),
        behind=max(float(weight.sum()), loose.faults),
        lean=lean,
    )


def why_studio(
    makings: Sequence[Making],
    *,
    charts: bool = True,
    views: Mapping[str, StageView] | None = None,
) -> StudioCauses:
    """Return what explains the failures over all plates.

    Parameters
    ----------
    makings : sequence of Making
        The studio's plates, in any order; none at all is allowed.
    charts : bool
        Whether to chart drift too.
    views : Mapping, optional
        Of the same makings, if the stages are weighed already.

    Returns
    -------
    StudioCauses
        Causes, those that explain most failures first; one is named only with plates enough.
    """
    known = [good for o in in_order(makings) if (good := succeeded(o)) is not None]
    plates, failures = len(known), known.count(False)
    enough = plates >= trade.value("causes", "plates_to_name")
    views = views or stage_views(makings)
    rows = [row for view in views.values() for row in _rows(view, failures, enough=enough)]
    rows.sort(key=lambda row: (-row.share * row.probability, row.cause, row.stage))
    return StudioCauses(
        causes=tuple(rows),
        charts=studio_charts(makings) if charts else (),
        plates=plates,
        failures=failures,
        enough_plates=enough and failures >= trade.value("causes", "faults_to_name"),
        words=" ".join(
            [_words(rows, plates, failures, enough=enough), *(_changed(views) if enough else ())]
        ),
    )


def _changed(views: Mapping[str, StageView]) -> list[str]:
    """Return a sentence for each stage that came to fail more or less often at some day."""
    out = []
    for stage, view in views.items():
        steps = [j for j, side in enumerate(view.sides) if side.side == SINCE]
        if not steps:
            continue
        inside = view.weighed.members[:, steps].max(axis=1)
        if view.weights[0] @ inside <= trade.value("causes", "named_from"):
            continue
        each = view.weights[0] @ view.weighed.members[:, steps]
        at = steps[int(np.argmax(each))]
        worse = view.weights[0] @ view.weighed.effect[:, at] > 0.0
        said = CHANGED.format(
            stage=stage, day=view.sides[at].name, word=MORE_OFTEN if worse else LESS_OFTEN
        )
        out.append(said)
    return out


def _rows(view: StageView, failures: int, *, enough: bool) -> list[StudioCause]:
    if view.faults <= 0.0:
        return []
    rng = np.random.default_rng(SEED)
    plates = view.weights @ view.blame  # (1 + draws, suspects + causes + 1)
    whole = max(float(failures), view.faults)
    # how many of so few faults fall to each is itself a matter of luck
    drawn = rng.gamma(np.maximum(plates[1:], 0.02))
    drawn *= view.faults / drawn.sum(axis=1, keepdims=True)
    plates = np.concatenate([plates[:1], drawn]) / whole
    rows = [
        _cause_row(view, cause.key, plates, whole, enough=enough)
        for cause in known_causes()
        if cause.stage == view.table.stage
    ]
    for columns in view.data.groups:
        side = view.sides[columns[0]]
        if side.causes or side.side == SINCE:
            continue
        share, at = plates[:, list(columns)].sum(axis=1), list(columns)
        most = at[int(np.argmax(plates[0, at]))]  # of several words the one that spoilt most
        told, effect = view.sides[most], view.weighed.effect[:, most]
        title = told.title
        if told.word and float(view.weights[0] @ effect) < 0.0:  # plates with it fail less
            title = told.titled(OTHER_WORD.format(word=told.word))
        rows.append(_row(view, side.own, title, at, share, whole, ("", 0.0), enough=enough))
    return rows


def _cause_row(
    view: StageView, key: str, plates: Floats, whole: float, *, enough: bool
) -> StudioCause:
    cause = next(c for c in known_causes() if c.key == key)
    columns = [j for j, side in enumerate(view.sides) if key in side.causes]
    apart = len(view.sides) + view.looks.causes.index(key)
    share = plates[:, apart].copy()
    for j in columns:  # a condition that two causes work through is shared out by their looks
        places = [view.looks.causes.index(k) for k in view.sides[j].causes]
        mine = view.looks.shares[view.looks.causes.index(key)]
        share += plates[:, j] * mine / view.looks.shares[places].sum()
    check = (cause.check, cause.check_minutes)
    row = _row(view, key, cause.title, columns, share, whole, check, enough=enough)
    lean = view.lean.get(key)
    return row if lean is None else _leaning_row(view, row, lean, enough=enough)


def _may_name(view: StageView, *, enough: bool) -> bool:
    """Return whether there are plates and faults enough to name a cause of this stage."""
    return enough and view.behind >= trade.value("causes", "faults_to_name")


def _leaning_row(view: StageView, row: StudioCause, lean: Leaning, *, enough: bool) -> StudioCause:
    """Return a row of a cause to whose side exposures may be wrong in the mean as well."""
    either, low, high = (
        1.0 - (1.0 - of_conditions) * (1.0 - leans)
        for of_conditions, leans in zip(
            (row.probability, row.low, row.high),
            (float(lean.chance[0]), *np.quantile(lean.chance[1:], RANGE)),
            strict=True,
        )
    )
    told = _may_name(view, enough=enough)
    named = told and either > trade.value("causes", "named_from")
    words = _row_words(named=named, told=told, judged=True, probability=either)
    if lean.chance[0] > trade.value("causes", "named_from"):
        off = lean.toward + lean.away
        leans = LEANS.format(toward=lean.toward, off=off)
        words = "{leans} {words}".format(leans=leans, words=words)
    return replace(
        row,
        probability=either,
        low=min(float(low), either),
        high=max(float(high), either),
        named=named,
        words=words if row.conditions or lean.toward else row.words,
    )


def _row(
    view: StageView,
    key: str,
    title: str,
    columns: list[int],
    share: Floats,
    whole: float,
    check: tuple[str, float],
    *,
    enough: bool,
) -> StudioCause:
    if columns:
        inside = view.weighed.members[:, columns].max(axis=1)
        chance = view.weights @ inside
        read = float(max(view.sides[j].read for j in columns))
    else:
        chance = np.clip(share * whole / view.faults, 0.0, 1.0)
        read = view.faults
    probability = float(chance[0])
    low, high = (float(q) for q in np.quantile(chance[1:], RANGE))
    share_low, share_high = (float(q) for q in np.quantile(share[1:], RANGE))
    told = bool(columns) and _may_name(view, enough=enough)
    named = told and probability > trade.value("causes", "named_from")
    effect = _effect(view, columns)
    return StudioCause(
        cause=key,
        title=title,
        stage=view.table.stage,
        conditions=tuple(dict.fromkeys(view.sides[j].name for j in columns)),
        probability=probability,
        low=min(low, probability),
        high=max(high, probability),
        share=float(share[0]),
        share_low=min(share_low, float(share[0])),
        share_high=max(share_high, float(share[0])),
        effect=effect[0],
        effect_low=effect[1],
        effect_high=effect[2],
        plates=read,
        faults=view.faults,
        named=named,
        check=check[0],
        check_minutes=check[1],
        words=_row_words(named=named, told=told, judged=bool(columns), probability=probability),
    )


def _effect(view: StageView, columns: list[int]) -> tuple[float | None, float | None, float | None]:
    if not columns:
        return None, None, None
    weight = view.weights[0]
    alone = [float(weight @ view.weighed.members[:, j]) for j in columns]
    j = columns[int(np.argmax(alone))]
    inside = view.weighed.members[:, j] > 0
    part = weight[inside] / max(weight[inside].sum(), 1e-300)
    effects = view.weighed.effect[inside, j]
    mean = float(part @ effects)
    variance = float(part @ (view.weighed.variance[inside, j] + (effects - mean) ** 2))
    half = Z80 * np.sqrt(variance)
    return mean, mean - float(half), mean + float(half)


def _row_words(*, named: bool, told: bool, judged: bool, probability: float) -> str:
    if not judged:
        return "Judged by its look alone: no reading shows it."
    if named:
        return "Explains failures here; a trial with only this changed would prove it."
    if not told:
        return "Too few plates to tell: one of several suspects, mostly starting assumptions."
    return (
        "One of several suspects."
        if probability > 0.2
        else "There is little evidence for it so far."
    )


def _words(rows: Sequence[StudioCause], plates: int, failures: int, *, enough: bool) -> str:
    if not failures:
        return (NONE_FAILED if plates else NO_PLATE).format(plates=plates)
    if not enough or failures < trade.value("causes", "faults_to_name"):
        return (
            "Too few plates to tell: {failures} failed of {plates}. "
            "The first few are suspects, not a verdict.".format(failures=failures, plates=plates)
        )
    named = [row.title for row in rows if row.named]
    if not named:
        return "No condition stands out: {failures} failed of {plates} plates.".format(
            failures=failures, plates=plates
        )
    return "{failures} failed of {plates} plates; most likely: {named}.".format(
        failures=failures, plates=plates, named="; ".join(named[:3])
    )
