"""Whether the steps of ``steps.toml`` are whole: each by itself, and all of them together."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import TYPE_CHECKING

from argentry.trade.cautions import cautions
from argentry.trade.conditions import stage_priors
from argentry.trade.entries import one_of, wrong
from argentry.trade.facts import BASES, toml
from argentry.trade.readings import quantities

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from argentry.trade.step_rule import Check, Feed, Resource, StepRule

SCOPES = ("day", "plate")
LAWS = ("fixed", "temperature", "fuming", "exposure", "development", "drying")
ONCE = ("fuming", "exposure", "development")  # each the law of exactly one step
GATES = ("", "polish", "coat", "development", "fix", "finish")
WHEN = ("before", "during", "after")
TIMES = ("seconds", "minutes")  # of several steps they add up in one column
HOW = (*TIMES, "start", "end", "gap", "reading", "same day", "studio")
LONGEST_TITLE = 60  # letters that a phone's screen and the day sheet hold


def _check_words(where: str, rule: StepRule, held: Mapping[str, Resource]) -> None:
    if not re.fullmatch(r"[a-z][a-z0-9_]*", rule.key):
        raise wrong(where, f"the key {rule.key!r} has other signs", "use a-z, 0-9 and _")
    if len(rule.title) > LONGEST_TITLE:
        raise wrong(
            where, f"the title has {len(rule.title)} letters", f"use at most {LONGEST_TITLE}"
        )
    words: tuple[tuple[str, Iterable[str]], ...] = (
        ("stage", stage_priors()),
        ("scope", SCOPES),
        ("law", LAWS),
        ("gate", GATES),
        ("basis", BASES),
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
        raise wrong(where, f"it holds the {rule.resource} without its caution", f"add {needed!r}")


def _check_numbers(where: str, rule: StepRule) -> None:
    if not 0 < rule.low_minutes <= rule.typical_minutes <= rule.high_minutes < 1e5:
        raise wrong(where, "its minutes are out of order", "give 0 < low <= typical <= high")
    if not 0.0 <= rule.area_exponent <= 2.0:
        raise wrong(where, "its area_exponent is out of range", "give 0 to 2")
    for name in ("activation_kj_mol", "reference_c"):
        value = getattr(rule, name)
        if (value is not None) != (rule.law == "temperature"):
            right = "give it with the law temperature, and only with it"
            raise wrong(where, f"{name} does not fit the law {rule.law}", right)
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
        raise wrong(where, f"the check {check.text!r} costs nothing", "give its minutes")
    at = check.at_minutes
    if (at is not None) != (check.when == "during"):
        right = "give at_minutes with the moment during, and only with it"
        raise wrong(where, f"a check {check.when} it does not fit at_minutes", right)
    if at is not None and not 0.0 < at < rule.high_minutes:
        right = f"give more than 0 and less than {rule.high_minutes:g}"
        raise wrong(where, f"a check at {at:g} min falls outside the step", right)
    twin = [one for one in rule.checks if (one.when, one.at_minutes) == (check.when, at)]
    if len(twin) > 1:
        right = "join their texts, or give them different moments"
        raise wrong(where, f"two checks are asked {check.when} it at once", right)


def _check_feed(where: str, feed: Feed, rule: StepRule) -> None:
    one_of(where, "feeds.column", feed.column, toml("columns"))
    one_of(where, "feeds.how", feed.how, HOW)
    if feed.how in (*TIMES, "start", "end") and feed.of:
        raise wrong(where, f"{feed.column} is fed by {feed.how} of {feed.of}", "leave out `of`")
    if feed.how in ("gap", "same day", "studio") and not feed.of:
        raise wrong(where, f"{feed.column} is fed by {feed.how} of nothing", "give `of`")
    if feed.how == "studio" and not re.fullmatch(r"[a-z_]+\.[a-z_0-9]+", feed.of):
        raise wrong(where, f"{feed.of!r} is not a place in the studio", "write it as lenses.name")
    if feed.how == "reading":
        one_of(where, "reads_before", feed.of or feed.column, rule.reads_before)


def check_step(where: str, rule: StepRule, held: Mapping[str, Resource]) -> None:
    """Refuse a step that contradicts itself or names something unknown.

    Raises
    ------
    ArgentryError
        If it does.
    """
    _check_words(where, rule, held)
    _check_numbers(where, rule)
    for check in rule.checks:
        _check_check(where, check, rule)
    for feed in rule.feeds:
        _check_feed(where, feed, rule)


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
        raise wrong(where, f"two steps share the key {twice[0]}", "give each a key of its own")
    for before, rule in pairwise(rules):
        if order.index(rule.stage) < order.index(before.stage):
            what = f"the stage {rule.stage} of {rule.key} follows {before.stage} of {before.key}"
            raise wrong(where, what, f"keep the order {', '.join(order)}")
        if rule.scope == "day" and before.scope == "plate":
            raise wrong(where, f"{rule.key} of the day follows a plate's step", "put it first")
    if idle := [stage for stage in order if stage not in {rule.stage for rule in rules}]:
        raise wrong(where, f"no step belongs to the stage {idle[0]}", "add one")
    for law in ONCE:
        found = [rule.key for rule in rules if rule.law == law]
        if len(found) != 1:
            have = " and ".join(found) or "no step"
            raise wrong(where, f"the law {law} belongs to {have}", "give it to exactly one step")
    last = rules[-1]
    if last.resource and held[last.resource].kept:
        what = f"the last step {last.key} leaves the plate in the {last.resource}"
        raise wrong(where, what, "add the step that takes it out")
    _check_feeds_together(rules)


def _check_feeds_together(rules: Sequence[StepRule]) -> None:
    done: set[str] = set()
    fed: dict[str, list[Feed]] = {}
    for rule in rules:
        for feed in rule.feeds:
            if feed.how in ("gap", "same day") and feed.of not in done:
                what = f"{feed.column} counts from {feed.of}, which is not done by then"
                raise wrong(f"steps.toml, step {rule.key}", what, "name a step before this one")
            fed.setdefault(feed.column, []).append(feed)
        done.add(rule.key)
    for column, feeds in fed.items():
        hows = [feed.how for feed in feeds if feed.how != "studio"]
        adds_up = len(set(hows)) == 1 and hows[0] in TIMES
        if (len(hows) > 1 and not adds_up) or len(feeds) - len(hows) > 1:
            right = "feed it once; only lengths of the same unit add up"
            raise wrong("steps.toml", f"the column {column} is fed twice", right)
