"""Why one plate failed: its looks and bookings, its readings beside the good runs, and the past.

Each cause starts from how common it is (the trade's word, corrected by this studio's count), is
made more or less likely by the readings of this run as far as its condition has proved to matter,
and is then judged by what was seen, in a net of causes and findings summed exactly.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.errors import BadInput
from argentry.learn.causes.appearance import LOOKS_STRENGTH, log_seen, stage_causes, usual_looks
from argentry.learn.causes.findings import learned_links, plate_net
from argentry.learn.causes.first_check import check_worth
from argentry.learn.causes.noisy_or import Posterior, leading, posterior
from argentry.learn.causes.run_readings import Uplift, own_uplift, raised, uplifts
from argentry.learn.causes.studio_causes import RANGE, SEED, stage_views
from argentry.learn.causes.suspects import SINCE
from argentry.learn.stages.table import in_order, succeeded
from argentry.records.causes import Cause, PlateCauses
from argentry.trade.defects import defects

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from argentry.arrays import Floats
    from argentry.learn.causes.findings import Net
    from argentry.learn.causes.studio_causes import StageView
    from argentry.records.plate import Making


YOUR_OWN = "your own plates; the trade's list has no such cause"
FEW = "Few plates yet ({failures} failed): judged mostly by what the trade knows of such looks. "
MADE_WITH = "{failed} of {plates} plates with it failed; {others} of {rest} without it"
OWN_CHECK = "Change this alone on the next plate, and compare"
UNSURE = "{stage}: cause unsure. The likeliest two: {first}; {second}."
PLATE_DRAWS = 120
_LEADING = 12  # causes that enter the sums for the ranges
_LEAST = 0.02  # probability below which a cause is not listed
_LISTED = 10


@dataclass(frozen=True)
class StudioPast:
    """What a studio's plates say of causes in general; made once, used for each of its plates.

    Attributes
    ----------
    ordered : tuple of Making
        All makings in order of time.
    views : Mapping[str, StageView]
        Each stage, weighed.
    links : Mapping[str, tuple of NDArray]
        Links of each stage as Beta counts.
    made : Mapping[str, NDArray]
        (causes + 1,) plates that each cause of a stage, and chance, has spoilt so far.
    """

    ordered: tuple[Making, ...]
    views: Mapping[str, StageView]
    links: Mapping[str, tuple[Floats, Floats]]
    made: Mapping[str, Floats]

    @cached_property
    def looked(self) -> tuple[Counter[str], int]:
        """How many failed plates had each look, and how many were looked at."""
        seen = [{d for d, _ in o.defects} for o in self.ordered if _failed(o) and o.defects]
        return Counter(look for one in seen for look in one), len(seen)


def studio_past(
    makings: Sequence[Making], views: Mapping[str, StageView] | None = None
) -> StudioPast:
    """Return what the plates say of causes in general; `views` if they are weighed already."""
    ordered = in_order(makings)
    views = views or stage_views(makings)
    links, made = {}, {}
    for stage, view in views.items():
        made[stage] = _made(view)
        faults = [ordered[r] for r in view.table.row[~view.table.ok]]
        share = made[stage][:-1] / max(view.faults, 1e-9)
        links[stage] = learned_links(stage, faults, share)
    return StudioPast(ordered, views, links, made)


def why_plate(
    makings: Sequence[Making], which: str, *, past: StudioPast | None = None
) -> PlateCauses:
    """Return what most likely went wrong with one plate.

    Parameters
    ----------
    makings : sequence of Making
        The studio's plates, with the one in question.
    which : str
        Id of the making.
    past : StudioPast, optional
        Of the same makings, when several plates are asked about.

    Returns
    -------
    PlateCauses
        Causes, most probable first; none for a plate that did not fail.

    Raises
    ------
    BadInput
        If there is no such making.
    """
    ordered = past.ordered if past else in_order(makings)
    place = next((i for i, o in enumerate(ordered) if o.id == which), None)
    if place is None:
        raise BadInput(
            "plate", "there is no making {which!r}", "give one of the book", which=which[:40]
        )
    making = ordered[place]
    known = [good for o in ordered if (good := succeeded(o)) is not None]
    plates, failures = len(known), known.count(False)
    enough = plates >= trade.value("causes", "plates_to_name") and failures >= trade.value(
        "causes", "faults_to_name"
    )
    if not _failed(making):
        words = "This plate did not fail, or nobody has said so yet: nothing to explain."
        return PlateCauses(which, False, (), "", 0.0, plates, failures, enough, words)
    causes, chance = _judge(past or studio_past(makings), making, place)
    best = max(causes, key=lambda c: c.check_worth, default=None)
    if causes and causes[0].probability >= trade.value("causes", "sure_from"):
        best = None  # sure enough to mend it at once
    return PlateCauses(
        outcome=which,
        failed=True,
        causes=causes,
        next_check=best.cause if best and best.check_worth > 0.0 else "",
        chance=chance,
        plates=plates,
        failures=failures,
        enough_plates=enough,
        words=_words(causes, failures, chance, making, enough=enough),
    )


def _failed(making: Making) -> bool:
    good = succeeded(making)
    return good is False or (good is None and bool(making.defects))


def _made(view: StageView) -> Floats:
    """Return the plates each cause of a stage has spoilt so far, then chance, (causes + 1,)."""
    blamed = view.weights[0] @ view.blame
    sides, looks = len(view.sides), view.looks
    out = blamed[sides:].copy()
    for j, side in enumerate(view.sides):
        places = [looks.causes.index(k) for k in side.causes] or [len(looks.causes) - 1]
        out[places] += blamed[j] * looks.shares[places] / looks.shares[places].sum()
    return np.asarray(out)


def _judge(past: StudioPast, making: Making, place: int) -> tuple[tuple[Cause, ...], float]:
    rng = np.random.default_rng(SEED)
    net = plate_net(making, past.links)
    priors, given = _priors(past, net, making, place, rng)
    follow, anyhow = next(iter(past.views.values())).follow, _anyhow(past, net, making)
    found = _either(follow, anyhow, net, priors[0], net.links())
    top = leading(found.marginal, _LEADING)
    drawn = np.array(
        [
            _either(follow, anyhow, net, prior[top], net.drawn(rng)[top]).marginal
            for prior in priors[1:]
        ]
    )
    low, high = np.quantile(drawn, RANGE, axis=0)
    span = {int(k): (float(a), float(b)) for k, a, b in zip(top, low, high, strict=True)}
    worth = _worth(net, found)
    rows = [
        _row(past, net, k, found, span.get(k, (0.0, 0.0)), float(worth[k]), making, given[k])
        for k in range(len(net.causes))
        if found.marginal[k] >= _LEAST
    ]
    own = [row for stage in net.stages for row in _unlisted(past, past.views[stage], place)]
    left = {s: 1.0 - min(sum(r.probability for r in own if r.stage == s), 1.0) for s in net.stages}
    rows = [
        replace(r, probability=r.probability * left[r.stage], low=r.low * left[r.stage],
                high=r.high * left[r.stage])
        for r in rows
    ]  # fmt: skip
    rows += own
    rows.sort(key=lambda row: (-row.probability, row.cause))
    # an accident of a stage, as far as no column of the maker's own spoilt it
    accidents = found.sets[:, len(net.causes) :] * np.array([left[s] for s in net.stages])
    return tuple(rows[:_LISTED]), float(found.weights @ accidents.max(axis=1, initial=0.0))


def _unlisted(past: StudioPast, view: StageView, place: int) -> list[Cause]:
    """Return what spoilt a plate by a way that the trade's list does not hold.

    A column of the maker's own, the other side of a condition, or one of an earlier stage.
    """
    faulty = np.flatnonzero(~view.table.ok)
    here = np.flatnonzero(view.table.row[faulty] == place)
    if not here.size:
        return []
    row, right = int(faulty[here[0]]), trade.value("causes", "booked_right")
    weight = right * float(view.table.weight[row])
    out = []
    for columns in view.data.groups:  # the words of a column are one
        at = list(columns)
        side = view.sides[at[0]]
        chance = weight * float(view.made_by[here[0], at].sum())
        if side.causes or side.side == SINCE or chance < _LEAST:
            continue
        matters = view.weights @ view.weighed.members[:, at[0]]
        low, high = np.quantile(matters[1:], RANGE) / max(float(matters[0]), 1e-9)
        title, words = side.title, own_uplift(view, at[0], row).words
        word = past.ordered[place].conditions.get(side.own)
        if side.word and isinstance(word, str):
            title = side.titled(word)
            words = _made_with(past, side.own, word)
        out.append(
            Cause(
                cause=side.own,
                title=title,
                stage=view.table.stage,
                probability=chance,
                low=chance * min(float(low), 1.0),
                high=min(chance * max(float(high), 1.0), right),
                plates=view.faults,
                check=OWN_CHECK,
                check_minutes=0.0,
                check_worth=0.0,
                because=(words,) if words else (),
                basis="seed",
                source=YOUR_OWN,
            )
        )
    return out


def _made_with(past: StudioPast, column: str, word: str) -> str:
    """Return how many plates failed with a word in a column and without it, in a sentence."""
    came: tuple[list[bool], list[bool]] = ([], [])
    for one in past.ordered:
        if (good := succeeded(one)) is not None and column in one.conditions:
            came[one.conditions[column] == word].append(not good)
    without, given = came
    return MADE_WITH.format(
        failed=sum(given), plates=len(given), others=sum(without), rest=len(without)
    )


def _anyhow(past: StudioPast, net: Net, making: Making) -> tuple[float, float]:
    """Return the log of the probability of the looks of a plate whatever its cause, and its weight.

    By the other plates that failed: the fewer were looked at, the less it says; nothing where
    nobody looked at this one.
    """
    counts, plates = past.looked
    seen = net.seen[: len(net.looks)]
    if np.isnan(seen).any() or plates < 2:
        return 0.0, 0.0
    mine = {d for d, _ in making.defects}
    others = np.array([float(counts[d] - (d in mine)) for d in net.looks])
    weight = (plates - 1.0) / (plates - 1.0 + LOOKS_STRENGTH)
    return float(log_seen(seen, usual_looks(others, plates - 1.0))), weight


def _either(
    follow: float, anyhow: tuple[float, float], net: Net, prior: Floats, links: Floats
) -> Posterior:
    """Return the causes with the looks believed, and without them, as likely as each is here.

    The studio may not `follow` the table of looks at all, and of the faults of one that does a
    share comes from what nobody has listed. Which of both a plate is, its looks say as well: those
    that fit no cause better than they fit any other plate say less, within `look_most`.
    """
    with_looks = posterior(prior, links, net.leaks, net.seen)
    without = posterior(prior, links, net.leaks, net.unlooked())
    usual, weight = anyhow
    most = np.log(trade.value("causes", "look_most"))
    told = weight * (with_looks.evidence - without.evidence - usual)
    fits = np.exp(np.clip(told, -most, most))
    believed = follow * (1.0 - trade.value("causes", "chance_share"))
    believed *= fits / (1.0 + believed * (fits - 1.0))
    weights = believed * with_looks.weights + (1.0 - believed) * without.weights
    return replace(with_looks, weights=weights, marginal=weights @ with_looks.sets)


def _priors(
    past: StudioPast, net: Net, making: Making, place: int, rng: np.random.Generator
) -> tuple[Floats, list[list[Uplift]]]:
    """Return the probability of each cause from its past and this run's readings, and why."""
    strength = trade.value("causes", "prior_strength")
    share = trade.value("causes", "chance_share")
    columns, given = [], []
    for cause in net.causes:
        view = past.views[cause.stage]
        spoilt = past.made[cause.stage][stage_causes(cause.stage).index(cause)]
        base = _share(strength, cause.prior, float(spoilt), view.table.plates, rng)
        here = uplifts(cause, view, making, place)
        effects = np.array([u.effect for u in here]) + np.concatenate(
            [np.zeros((1, len(here))), rng.normal(size=(PLATE_DRAWS, len(here)))]
        ) * np.array([u.doubt for u in here])
        if cause.length in making.broken_off:  # given up before it was too long, or had its time
            base = np.zeros_like(base)
        columns.append(raised(base, here, effects))
        given.append(here)
    for stage in net.stages:
        usual = sum(c.prior for c in stage_causes(stage)) * share / (1.0 - share)
        spoilt = float(past.made[stage][-1])
        plates = past.views[stage].table.plates
        columns.append(_share(strength, min(usual, 0.5), spoilt, plates, rng))
    return np.stack(columns, axis=1), given


def _share(
    strength: float, prior: float, spoilt: float, plates: float, rng: np.random.Generator
) -> Floats:
    """Return how common a cause is: the middle, then draws, (1 + draws,)."""
    yes = strength * prior + spoilt
    no = strength * (1.0 - prior) + max(plates - spoilt, 0.0)
    return np.concatenate([[yes / (yes + no)], rng.beta(yes, no, PLATE_DRAWS)])


def _worth(net: Net, found: Posterior) -> Floats:
    minutes = [c.check_minutes for c in net.causes]
    return check_worth(
        found.sets[:, : len(net.causes)],
        found.weights,
        minutes,
        trade.value("causes", "check_finds"),
        trade.value("causes", "check_misleads"),
    )


def _row(
    past: StudioPast,
    net: Net,
    k: int,
    found: Posterior,
    span: tuple[float, float],
    worth: float,
    making: Making,
    given: Sequence[Uplift],
) -> Cause:
    cause, probability = net.causes[k], float(found.marginal[k])
    seen = [d for d, _ in dict.fromkeys(making.defects) if cause.links.get(d, 0.0) > 0.0]
    looks = [f"seen: {defects()[d].look}" for d in dict.fromkeys(seen) if d in defects()]
    booked = making.stages.get(cause.stage) == "fault"
    verdict = making.verdict if making.verdict in cause.verdicts else None
    return Cause(
        cause=cause.key,
        title=cause.title,
        stage=cause.stage,
        probability=probability,
        low=min(span[0], probability),
        high=max(span[1], probability),
        plates=past.views[cause.stage].faults,
        check=cause.check,
        check_minutes=cause.check_minutes,
        check_worth=worth,
        because=(
            *looks,
            *(["the exposure was judged: {verdict}".format(verdict=verdict)] if verdict else []),
            *(u.words for u in given if u.words),
            *(["booked on the stage {stage}".format(stage=cause.stage)] if booked else []),
        ),
        basis=cause.basis,
        source=cause.source,
    )


def _words(
    causes: Sequence[Cause], failures: int, chance: float, making: Making, *, enough: bool
) -> str:
    start = "" if enough else FEW.format(failures=failures)
    if not causes:
        return start + "Nothing written down about this plate points to a cause."
    first = causes[0]
    if first.probability < 0.5:
        # a booked stage is nearly always right, also where its cause cannot be told
        at = [s for s, came in making.stages.items() if came == "fault"]
        here = [c.title for c in causes if c.stage in at]
        if len(at) == 1 and len(here) > 1:
            return start + UNSURE.format(stage=at[0].capitalize(), first=here[0], second=here[1])
        return start + (
            "Several causes are possible; {title} is the likeliest. Make the check first."
        ).format(title=first.title)
    if chance > first.probability:
        return start + "An accident of the day is likelier than any cause listed."
    return start + "Most likely {title}.".format(title=first.title)
