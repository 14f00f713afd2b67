"""What the maker writes down of an invented plate: makings by stage, grade, defects, gaps."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from argentry import trade
from argentry.demo.chance import happens, normal, one_of
from argentry.demo.plate_story import Fault, Key, causes, fact, written
from argentry.exchange.plates.columns import columns
from argentry.records.plate import STAGES
from argentry.trade.columns import NUMBERS
from argentry.trade.conditions import conditions


def grade_of(faults: Sequence[Fault], *, best: bool) -> str:
    """Return the grade: lost or study with faults, else good, or fine when all was at its best."""
    if any(fault.loses for fault in faults):
        return "lost"
    if faults:
        return "study"
    return "fine" if best else "good"


def booked_stages(
    reached: Sequence[str], faults: Mapping[str, Sequence[Fault]], key: Key
) -> tuple[dict[str, str], dict[str, str]]:
    """Return the making by stage as booked, and where each guilty stage was booked.

    Now and then the maker puts a fault down to another stage that the plate reached.

    Parameters
    ----------
    reached : sequence of str
        Stages the plate came to.
    faults : Mapping[str, sequence of Fault]
        True faults by stage.
    key : tuple
        What chance is drawn for.
    """
    wrong = happens(fact("wrong_stage"), *key, "wrong stage")
    booked_at: dict[str, str] = {}
    for stage in reached:
        if faults[stage]:
            others = [one for one in reached if one != stage and not faults[one]]
            booked_at[stage] = one_of(others, *key, "booked") if wrong and others else stage
            wrong = False  # one slip a plate is enough
    guilty = set(booked_at.values())
    making = {
        f"stage_{stage}": "" if stage not in reached else "fault" if stage in guilty else "ok"
        for stage in STAGES
    }
    return making, booked_at


def defects_of(
    faults: Mapping[str, Sequence[Fault]], booked_at: Mapping[str, str], stops: float, key: Key
) -> str:
    """Return the defects as written: key@stage, separated by semicolons.

    Parameters
    ----------
    faults : Mapping[str, sequence of Fault]
        True faults by stage.
    booked_at : Mapping[str, str]
        From `booked_stages`.
    stops : float
        True exposure from the middle of right. [stops]
    key : tuple
        What chance is drawn for.
    """
    seen: list[str] = []
    for stage, found in faults.items():
        for fault in found:
            looks = causes()[fault.cause]["defects"]
            if stage == "exposure" and "blue_highlights" in looks:
                looks = ["blue_highlights"] if stops > 0.0 else ["under_exposed"]
            by_chance = fault.cause.startswith("chance")
            first = one_of(looks, *key, fault.cause, "look") if by_chance else looks[0]
            if not happens(0.1, *key, fault.cause, "not noted"):
                seen.append(f"{first}@{booked_at[stage]}")
            if len(looks) > 1 and looks[1] != first and happens(0.3, *key, fault.cause, "second"):
                seen.append(f"{looks[1]}@{booked_at[stage]}")
    if "exposure" in faults and happens(0.1, *key, "specks"):
        seen.append("black_specks@exposure")  # dust is on good plates too
    return ";".join(dict.fromkeys(seen))


def remark(grade: str, key: Key) -> str:
    """Return what the maker jots down, mostly nothing."""
    lists = trade.toml("demo")["remarks"]
    if happens(0.25, *key, "remark on grade"):
        return str(one_of(lists["bad" if grade in ("lost", "study") else "good"], *key, "word"))
    return str(one_of(lists["any"], *key, "word")) if happens(0.2, *key, "remark") else ""


def without_story(reached: Collection[str], told: Collection[str], key: Key) -> dict[str, str]:
    """Return cells that no story of the invented year tells: about what the trade expects.

    So a condition that is added to the trade's data is in the demo's table too, and harms nothing.

    Parameters
    ----------
    reached : collection of str
        Stages the plate came to.
    told : collection of str
        Columns that the stories of those stages write.
    key : tuple
        What chance is drawn for.
    """
    known = {column.name: column for column in columns()}
    out: dict[str, str] = {}
    for one in conditions():
        column = known[one.columns[0]]
        if one.law or one.stage not in reached or column.name in told:
            continue
        if column.kind == "word":
            out[column.name] = one_of(column.words, *key, column.name)
        elif column.kind in NUMBERS:
            away = one.width * normal(*key, column.name)
            drawn = one.centre * 2.0**away if one.scale == "doublings" else one.centre + away
            digits = 0 if column.kind == "whole number" else 1
            out[column.name] = written(min(max(drawn, column.low), column.high), digits)
    return out


def with_gaps(cells: Mapping[str, str], key: Key) -> dict[str, str]:
    """Return the cells with those left empty that were never written down."""
    kept, gaps = dict(cells), trade.toml("demo")["gaps"]
    for name in gaps["each"]:
        if happens(fact("not_written"), *key, name):
            kept[name] = ""
    if happens(0.4, *key, "no photograph of the coat"):
        kept.update(dict.fromkeys(gaps["together"], ""))
    return kept
