"""Whether the steps of ``steps.toml`` are whole: each by itself, and all of them together."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise

from argentry.trade.cautions import cautions
from argentry.trade.columns import columns
from argentry.trade.conditions import stage_priors
from argentry.trade.entries import one_of, wrong
from argentry.trade.facts import BASES
from argentry.trade.readings import quantities
from argentry.trade.step_rule import Check, Feed, Resource, StepRule

SCOPES = ("day", "plate")
LAWS = ("fixed", "temperature", "fuming", "exposure", "development", "drying")
ONCE = ("fuming", "exposure", "development")  # each the law of exactly one step
GATES = ("", "polish", "coat", "development", "fix", "finish")
ANOTHER_DAY = ("before", "", "after")  # in the order in which they come
WHEN = ("before", "during", "after")
TIMES = ("seconds", "minutes")  # of several steps they add up in one column
HOW = (*TIMES, "start", "end", "gap", "reading", "same day", "studio", "held")
LONGEST_TITLE = 60  # letters that a phone's screen and the day sheet hold


def _check_words(where: str, rule: StepRule, held: Mapping[str, Resource]) -> None:
    if not re.fullmatch(r"[a-z][a-z0-9_]*", rule.key):
        raise wrong(
            where, "the key {key!r} has other signs".format(key=rule.key), "use a-z, 0-9 and _"
        )
    if len(rule.title) > LONGEST_TITLE:
        raise wrong(
            where,
            "the title has {title_count} letters".format(title_count=len(rule.title)),
            "use at most {longest_title}".format(longest_title=LONGEST_TITLE),
        )
    words: tuple[tuple[str, Iterable[str]], ...] = (
        ("stage", stage_priors()),
        ("scope", SCOPES),
        ("law", LAWS),
        ("gate", GATES),
        ("basis", BASES),
        ("another_day", ANOTHER_DAY),
        ("resource", ("", *held)),
    )
    for name, known in words:
        one_of(where, name, getattr(rule, name), known)
    lists: tuple[tuple[str, Iterable[str]], ...] = (
        ("reads_before", quantities()),
        ("reads_after", quantities()),
        ("cautions", cautions()),
    )
    for name, known in lists:
        for each in getattr(rule, name):
            one_of(where, name, each, known)
    needed = held[rule.resource].caution if rule.resource else ""
    if needed and needed not in rule.cautions:
        raise wrong(
            where,
            "it holds the {resource} without its caution".format(resource=rule.resource),
            f"add {needed!r}",
        )


def _check_numbers(where: str, rule: StepRule) -> None:
    if not 0 < rule.low_minutes <= rule.typical_minutes <= rule.high_minutes < 1e5:
        raise wrong(where, "its minutes are out of order", "give 0 < low <= typical <= high")
    if not 0.0 <= rule.area_exponent <= 2.0:
        raise wrong(where, "its area_exponent is out of range", "give 0 to 2")
    for name in ("activation_kj_mol", "reference_c"):
        value = getattr(rule, name)
        if (value is not None) != (rule.law == "temperature"):
            right = "give it with the law temperature, and only with it"
            raise wrong(
                where, "{name} does not fit the law {law}".format(name=name, law=rule.law), right
            )
    within = rule.start_within_minutes
    if within is not None and not 0.0 <= within < 1e5:
        raise wrong(where, "its start_within_minutes is out of range", "give 0 minutes or more")
    if within is not None or rule.keep_basis:
        one_of(where, "keep_basis", rule.keep_basis, BASES)
        if not rule.keep_source:
            raise wrong(where, "its limit names no source", "give keep_source")


def _check_check(where: str, check: Check, rule: StepRule) -> None:
    one_of(where, "checks.when", check.when, WHEN)
    if not 0.0 < check.minutes < 100.0:
        raise wrong(
            where, "the check {check!r} costs nothing".format(check=check.text), "give its minutes"
        )
    at = check.at_minutes
    if (at is not None) != (check.when == "during"):
        right = "give at_minutes with the moment during, and only with it"
        raise wrong(
            where, "a check {when} it does not fit at_minutes".format(when=check.when), right
        )
    if at is not None and not 0.0 < at < rule.high_minutes:
        right = "give more than 0 and less than {high_minutes:g}".format(
            high_minutes=rule.high_minutes
        )
        raise wrong(where, "a check at {at:g} min falls outside the step".format(at=at), right)
    twin = [one for one in rule.checks if (one.when, one.at_minutes) == (check.when, at)]
    if len(twin) > 1:
        right = "join their texts, or give them different moments"
        raise wrong(where, "two checks are asked {when} it at once".format(when=check.when), right)


def _check_feed(where: str, feed: Feed, rule: StepRule, held: Mapping[str, Resource]) -> None:
    one_of(where, "feeds.column", feed.column, columns())
    one_of(where, "feeds.how", feed.how, HOW)
    if feed.how in (*TIMES, "start", "end", "held") and feed.of:
        raise wrong(
            where,
            "{column} is fed by {how} of {of}".format(column=feed.column, how=feed.how, of=feed.of),
            "leave out `of`",
        )
    if feed.how in ("gap", "same day", "studio") and not feed.of:
        raise wrong(
            where,
            "{column} is fed by {how} of nothing".format(column=feed.column, how=feed.how),
            "give `of`",
        )
    if feed.how == "studio" and not re.fullmatch(r"[a-z_]+\.[a-z_0-9]+", feed.of):
        raise wrong(
            where,
            "{of!r} is not a place in the studio".format(of=feed.of),
            "write it as lenses.name",
        )
    named = rule.resource and held[rule.resource].of
    if feed.how == "held" and not named:
        raise wrong(
            where,
            "{column} is what the step holds, which has no name".format(column=feed.column),
            "give a resource with `of`",
        )
    if feed.how == "reading":
        one_of(where, "reads_before", feed.of or feed.column, rule.reads_before)


def check_step(where: str, rule: StepRule, held: Mapping[str, Resource]) -> None:
    """Refuse a step that contradicts itself or names something unknown."""
    _check_words(where, rule, held)
    _check_numbers(where, rule)
    for check in rule.checks:
        _check_check(where, check, rule)
    for feed in rule.feeds:
        _check_feed(where, feed, rule, held)


def check_together(rules: Sequence[StepRule], held: Mapping[str, Resource]) -> None:
    """Refuse steps that contradict one another.

    Raises
    ------
    ArgentryError
        If keys, stages, laws, resources or feeds do not fit together.
    """
    where = "steps.toml"
    keys = [rule.key for rule in rules]
    order = list(stage_priors())
    if twice := sorted({key for key in keys if keys.count(key) > 1}):
        raise wrong(
            where,
            "two steps share the key {twice}".format(twice=twice[0]),
            "give each a key of its own",
        )
    for before, rule in pairwise(rules):
        if order.index(rule.stage) < order.index(before.stage):
            what = "the stage {stage} of {key} follows {before_stage} of {before_key}".format(
                stage=rule.stage, key=rule.key, before_stage=before.stage, before_key=before.key
            )
            raise wrong(where, what, "keep the order {order}".format(order=", ".join(order)))
        if rule.scope == "day" and before.scope == "plate":
            raise wrong(
                where,
                "{key} of the day follows a plate's step".format(key=rule.key),
                "put it first",
            )
    if idle := [stage for stage in order if stage not in {rule.stage for rule in rules}]:
        raise wrong(where, "no step belongs to the stage {idle}".format(idle=idle[0]), "add one")
    for law in ONCE:
        found = [rule.key for rule in rules if rule.law == law]
        if len(found) != 1:
            have = " and ".join(found) or "no step"
            raise wrong(
                where,
                "the law {law} belongs to {have}".format(law=law, have=have),
                "give it to exactly one step",
            )
    last = rules[-1]
    if last.resource and held[last.resource].kept:
        what = "the last step {key} leaves the plate in the {resource}".format(
            key=last.key, resource=last.resource
        )
        raise wrong(where, what, "add the step that takes it out")
    _check_other_days(rules)
    _check_feeds_together(rules)


def _check_other_days(rules: Sequence[StepRule]) -> None:
    plate = [rule for rule in rules if rule.scope == "plate"]
    for before, rule in pairwise(plate):
        where = "steps.toml, step {key}".format(key=rule.key)
        if ANOTHER_DAY.index(rule.another_day) < ANOTHER_DAY.index(before.another_day):
            what = "it follows {before}, which may be done another day, and may not itself"
            right = "only the first steps may be done before, only the last ones after"
            raise wrong(where, what.format(before=before.key), right)
        if rule.another_day != before.another_day and rule.start_within_minutes is not None:
            what = "it must follow {before} within {minutes:g} min, though a night may lie between"
            right = "leave out start_within_minutes, or another_day"
            raise wrong(
                where, what.format(before=before.key, minutes=rule.start_within_minutes), right
            )
    for rule in plate:
        if rule.another_day and (rule.resource or rule.law in ONCE or not rule.attended):
            where = "steps.toml, step {key}".format(key=rule.key)
            what = "a step that holds something or follows the light cannot be left for another day"
            raise wrong(where, what, "leave out another_day")


def _check_feeds_together(rules: Sequence[StepRule]) -> None:
    done: set[str] = set()
    fed: dict[str, list[Feed]] = {}
    for rule in rules:
        for feed in rule.feeds:
            if feed.how in ("gap", "same day") and feed.of not in done:
                what = "{column} counts from {of}, which is not done by then".format(
                    column=feed.column, of=feed.of
                )
                raise wrong(
                    "steps.toml, step {key}".format(key=rule.key),
                    what,
                    "name a step before this one",
                )
            fed.setdefault(feed.column, []).append(feed)
        done.add(rule.key)
    for column, feeds in fed.items():
        hows = [feed.how for feed in feeds if feed.how != "studio"]
        adds_up = len(set(hows)) == 1 and hows[0] in TIMES
        if (len(hows) > 1 and not adds_up) or len(feeds) - len(hows) > 1:
            right = "feed it once; only lengths of the same unit add up"
            raise wrong(
                "steps.toml", "the column {column} is fed twice".format(column=column), right
            )
