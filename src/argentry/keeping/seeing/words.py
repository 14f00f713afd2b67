"""The one line that says what a photograph shows of a coat, and what the hands do."""

from __future__ import annotations

from argentry import trade
from argentry.needs.over_iodine import BoxToday, seconds_over_iodine
from argentry.physics.coat.coat_words import colour_word
from argentry.records.answers.coat_seen import CoatSeen, MoreSeconds, OtherCoat

CYCLES = {0: "bare", 1: "first", 2: "second", 3: "third"}
CANNOT = "cannot tell: {why}"
ONE = "{colour}, {nm:.0f} nm"
LATER_CYCLE = "{colour} of the {cycle} cycle, {nm:.0f} nm"
TWO = "{colour}: {cycle} {nm:.0f} or {other_cycle} {other:.0f} nm"
TWO_WORDS = "{colour}, {nm:.0f} nm, or {other_colour} of the {other_cycle} cycle, {other:.0f} nm"
BY_CLOCK = "{both}; by your {seconds:.0f} s the {cycle}"
THIN = "{coat}; thin at the {edge} edge"
DO = "{coat}: {do}"
STOP, MORE, MORE_LOWER = "stop", "{seconds:.0f} s more", "{seconds:.0f} s more, {edge} side lower"
TURN = "turn it, {edge} side lower, lid closed"
NEAR_NM = 1.0  # a coat this near is the one aimed at


def seconds_more(
    seen: CoatSeen, box: BoxToday, aim_nm: float, so_far_s: float | None
) -> MoreSeconds:
    """Return the seconds more over iodine from a coat to the one aimed at, and what to do.

    Parameters
    ----------
    seen : CoatSeen
        With its thickness.
    box : BoxToday
        The box.
    aim_nm : float
        Coat aimed at. [nm]
    so_far_s : float or None
        Seconds over iodine so far; None: as many as the box needs for this coat. [s]
    """
    assert seen.thickness_nm is not None
    assert seen.range_80_nm is not None
    low_nm, high_nm = seen.range_80_nm

    def at(nm: float) -> float:
        return seconds_over_iodine(box, max(nm, 0.1)).middle

    whole = at(aim_nm)
    so_far = at(seen.thickness_nm) if so_far_s is None else so_far_s
    most = trade.value("seeing", "most_more_share") * so_far
    middle, low, high = (
        min(max(whole - at(nm), 0.0), most) for nm in (seen.thickness_nm, high_nm, low_nm)
    )
    if seen.thickness_nm > aim_nm - NEAR_NM or middle < 0.5:
        edge = seen.thin_edge
        return MoreSeconds(0.0, 0.0, 0.0, STOP if edge is None else TURN.format(edge=edge))
    words = MORE if seen.thin_edge is None else MORE_LOWER
    do = words.format(seconds=middle, edge=seen.thin_edge)
    return MoreSeconds(round(middle, 1), round(low, 1), round(high, 1), do)


def line_of(seen: CoatSeen, seconds: float | None) -> str:
    """Return what is seen of a coat in one line that is read at arm's length.

    Parameters
    ----------
    seen : CoatSeen
        All but its line.
    seconds : float or None
        Over iodine so far, where they tell which coat to expect. [s]
    """
    if seen.thickness_nm is None or seen.colour is None or seen.cycle is None:
        return CANNOT.format(why=seen.not_told[0].why)
    other = _other(seen)
    if other is not None:
        said = _two(seen, other)
        if seconds is not None:
            return BY_CLOCK.format(both=said, seconds=seconds, cycle=CYCLES[seen.cycle])
        return said
    words = ONE if seen.cycle < 2 else LATER_CYCLE
    said = words.format(colour=seen.colour, nm=seen.thickness_nm, cycle=CYCLES[seen.cycle])
    if seen.thin_edge is not None:
        said = THIN.format(coat=said, edge=seen.thin_edge)
    return said if seen.more_seconds is None else DO.format(coat=said, do=seen.more_seconds.do)


def _other(seen: CoatSeen) -> OtherCoat | None:
    """Return the likeliest coat of another cycle, when it is likely enough to be told."""
    least = trade.value("seeing", "two_cycles_weight")
    for one in seen.other_coats:
        if one.cycle != seen.cycle and one.weight >= least:
            return one
    return None


def _two(seen: CoatSeen, other: OtherCoat) -> str:
    assert seen.cycle is not None
    word = colour_word(other.thickness_nm)[0]
    known = {
        "colour": seen.colour, "cycle": CYCLES[seen.cycle], "nm": seen.thickness_nm,
        "other_colour": word, "other_cycle": CYCLES[other.cycle], "other": other.thickness_nm,
    }  # fmt: skip
    return (TWO if word == seen.colour else TWO_WORDS).format(**known)
