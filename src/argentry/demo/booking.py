"""What the maker writes down of an invented plate: makings by stage, grade, defects, gaps."""

from __future__ import annotations

from typing import TYPE_CHECKING

from argentry import trade
from argentry.demo.chance import happens, one_of
from argentry.demo.plate_story import causes, fact
from argentry.records.plate import STAGES

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from argentry.demo.plate_story import Fault, Key

# Readings that are forgotten now and then; each on its own, so that no row loses everything.
FORGOTTEN = (
    "buff_minutes",
    "room_rh_pct",
    "plate_c",
    "box_c",
    "box_rest_minutes",
    "meter_ev",
    "cloud_okta",
    "water_us_cm",
    "fixer_plates",
    "gold_age_hours",
)
PHOTOGRAPHED = ("coat_l", "coat_a", "coat_b", "coat_nm")


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
    """Return the defects as written: key@stage, parted by semicolons.

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


def with_gaps(cells: Mapping[str, str], key: Key) -> dict[str, str]:
    """Return the cells with those left empty that were never written down."""
    kept = dict(cells)
    for name in FORGOTTEN:
        if happens(fact("not_written"), *key, name):
            kept[name] = ""
    if happens(0.4, *key, "no photograph of the coat"):
        kept.update(dict.fromkeys(PHOTOGRAPHED, ""))
    return kept
