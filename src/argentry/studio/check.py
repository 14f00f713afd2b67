"""Turn the tables of ``studio.toml`` into records, or into every mistake, one sentence each."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from difflib import get_close_matches
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from argentry.errors import BadInput
from argentry.records.instruments import Spectrum
from argentry.studio.keys import ENDS, MIDNIGHT, Key
from argentry.trade.spectra import spectrum_named

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from argentry.studio.keys import Section

CLOCK = re.compile(r"([01]\d|2[0-3]):[0-5]\d")
LONGEST_TEXT = 80


def read_value(where: str, key: Key, value: Any, folder: Path | None = None) -> Any:
    """Return `value` as the record wants it.

    Parameters
    ----------
    where : str
        Where it stands, for the sentence.
    key : Key
        What is allowed.
    value : Any
        As read from the file or an option.
    folder : Path or None
        The studio folder, where files that it names lie.

    Returns
    -------
    Any
        A float, int, bool, str, or tuple of pairs.

    Raises
    ------
    BadInput
        If it is of the wrong kind or out of range.
    """
    if key.kind == "spectrum":
        return _spectrum(where, key, value, folder)
    reader = {
        "text": _text,
        "number": _number,
        "whole number": _whole,
        "yes or no": _yes_no,
        "word": _word,
        "words": _words,
        "clock time": _clock,
        "clock pairs": _clock_pairs,
        "angle pairs": _angle_pairs,
        "skyline": _file_name,
        "time zone": _zone,
    }[key.kind]
    return reader(where, key, value)


def read_section(
    where: str,
    part: Section,
    table: Any,
    mistakes: list[BadInput],
    folder: Path | None = None,
) -> Mapping[str, Any] | None:
    """Return the values of one section by field name, adding every mistake to `mistakes`.

    Parameters
    ----------
    where : str
        The section as the maker sees it.
    part : Section
        What is allowed in it.
    table : Any
        As read from the file.
    mistakes : list of BadInput
        Added to.
    folder : Path or None
        As of `read_value`.

    Returns
    -------
    dict or None
        None when any value was wrong.
    """
    before = len(mistakes)
    if not isinstance(table, dict):
        mistakes.append(
            BadInput(
                where,
                "{value} is not a section",
                "write {head} and its keys below",
                value=_shown(table),
                head=part.head,
            )
        )
        return None
    known = {key.name: key for key in part.keys}
    meant = _unknown_keys(where, part, table, mistakes)
    values: dict[str, Any] = {}
    for name, key in known.items():
        place = f"{where} {name}"
        if name in table:
            try:
                values[name] = read_value(place, key, table[name], folder)
            except BadInput as mistake:
                mistakes.append(mistake)
        elif key.required and name not in meant:
            mistakes.append(BadInput(place, "missing", "add " + name + " = " + key.allowed()))
    return values if len(mistakes) == before else None


def unknown_name(where: str, name: str, known: list[str], what: str) -> BadInput:
    """Return the sentence for a name that is not known, with the nearest that is."""
    near = get_close_matches(name, known, n=1, cutoff=0.5)
    shown = " ".join(name.split())[:60] or '""'
    return BadInput(
        where,
        "there is no {kind} {name}",
        "did you mean {near}" if near else "the {kind}s here are {known}",
        kind=what,
        name=shown,
        near="".join(near),
        known=", ".join(known),
    )


def _unknown_keys(
    where: str, part: Section, table: Mapping[str, Any], mistakes: list[BadInput]
) -> set[str]:
    """Add a mistake for each unknown key; return the keys that were probably meant by them."""
    names = [key.name for key in part.keys]
    inner = {"lamp"} if part.name == "frame" else set()
    meant: set[str] = set()
    for name in table:
        if name in names or name in inner:
            continue
        free = [known for known in [*names, *inner] if known not in table]
        mistakes.append(unknown_name(where, name, free or names, "key"))
        meant.update(get_close_matches(name, free, n=1, cutoff=0.5))
    return meant


def _shown(value: Any) -> str:
    """Return a value as the maker wrote it, short, on one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "a section"
    text = f'"{value}"' if isinstance(value, str) else str(value)
    text = " ".join(text.split())
    return text if len(text) <= 50 else text[:47] + "..."


def _refuse(where: str, key: Key, value: Any, what: str, **values: object) -> NoReturn:
    right = "give {allowed}"
    raise BadInput(where, what, right, value=_shown(value), allowed=key.allowed(), **values)


def _refuse_unknown(where: str, key: Key, value: Any, known: Iterable[str]) -> NoReturn:
    near = get_close_matches(str(value), known, n=1, cutoff=0.6)
    what = '{value} is not known here (did you mean "{near}"?)'
    _refuse(where, key, value, what if near else "{value} is not known here", near="".join(near))


def _text(where: str, key: Key, value: Any) -> str:
    if not isinstance(value, str):
        _refuse(where, key, value, "{value} is not text")
    if not value.strip():
        _refuse(where, key, value, "the name is empty")
    if len(value) > LONGEST_TEXT or not value.isprintable():
        what = "{value} is longer than {most} characters or holds line breaks"
        _refuse(where, key, value, what, most=LONGEST_TEXT)
    return value.strip()


def _spectrum(where: str, key: Key, value: Any, folder: Path | None) -> Spectrum:
    name = _file_name(where, key, value)
    return Spectrum(name, *spectrum_named(where, name, key.of, folder))


def _file_name(where: str, key: Key, value: Any) -> str:
    name = _text(where, key, value)
    if Path(name).name != name or name in ("", ".", ".."):
        what = "{value} is not the name of a file in the studio folder"
        _refuse(where, key, value, what)
    return name


def _number(where: str, key: Key, value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or math.isnan(value):
        _refuse(where, key, value, "{value} is not a number")
    inside = key.low < value <= key.high if key.above else key.low <= value <= key.high
    if not inside:
        _refuse(where, key, value, "{value} is out of range")
    return float(value)


def _whole(where: str, key: Key, value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        _refuse(where, key, value, "{value} is not a whole number")
    if not key.low <= value <= key.high:
        _refuse(where, key, value, "{value} is out of range")
    return value


def _yes_no(where: str, key: Key, value: Any) -> bool:
    if not isinstance(value, bool):
        _refuse(where, key, value, "{value} is neither true nor false")
    return value


def _word(where: str, key: Key, value: Any) -> str:
    if not isinstance(value, str) or value not in key.words:
        _refuse_unknown(where, key, value, key.words)
    return value


def _words(where: str, key: Key, value: Any) -> tuple[str, ...]:
    if not isinstance(value, list):
        _refuse(where, key, value, "{value} is not a list")
    return tuple(_word(where, key, one) for one in value)


def _clock(where: str, key: Key, value: Any) -> str:
    # TOML has clock times of its own: 08:00:00 without quotes is read as one.
    if hasattr(value, "hour") and not hasattr(value, "year"):
        value = f"{value.hour:02d}:{value.minute:02d}"
    if key.name == ENDS and value == MIDNIGHT:
        return MIDNIGHT
    if not isinstance(value, str) or not CLOCK.fullmatch(value):
        _refuse(where, key, value, "{value} is not a clock time")
    return value


def _pairs(where: str, key: Key, value: Any) -> list[Any]:
    if not isinstance(value, list) or any(not isinstance(v, list) or len(v) != 2 for v in value):
        _refuse(where, key, value, "{value} is not a list of pairs")
    return value


def _clock_pairs(where: str, key: Key, value: Any) -> tuple[tuple[str, str], ...]:
    pairs = [
        (_clock(where, key, start), _clock(where, key, end))
        for start, end in _pairs(where, key, value)
    ]
    for start, end in pairs:
        if start >= end:
            _refuse(where, key, f"{start} to {end}", "{value} does not go forward")
    pairs.sort()
    for (_, end), (start, _) in pairwise(pairs):
        if start < end:
            raise BadInput(
                where,
                "the break from {start} begins before the one before it ends at {end}",
                "let breaks follow each other",
                start=start,
                end=end,
            )
    return tuple(pairs)


def _angle_pairs(where: str, key: Key, value: Any) -> tuple[tuple[float, float], ...]:
    out: dict[float, float] = {}
    for pair in _pairs(where, key, value):
        azimuth, elevation = (
            _number(where, _angle(key, high), v) for v, high in zip(pair, (360, 90), strict=True)
        )
        azimuth = 0.0 if azimuth == 360 else azimuth
        if out.setdefault(azimuth, elevation) != elevation:
            raise BadInput(
                where,
                "azimuth {azimuth:g} has two elevations, {first:g} and {second:g}",
                "give each azimuth once (360 is 0)",
                azimuth=azimuth,
                first=out[azimuth],
                second=elevation,
            )
    return tuple(sorted(out.items()))


def _angle(key: Key, high: float) -> Key:
    what = "azimuth" if high == 360 else "elevation"
    unit = "deg for the {what}".format(what=what)
    return replace(key, kind="number", unit=unit, low=0.0, high=float(high))


def _zone(where: str, key: Key, value: Any) -> str:
    from zoneinfo import ZoneInfo, available_timezones

    try:
        ZoneInfo(value)
    # unknown, not text, or not a proper name: "", "../x", a folder
    except (TypeError, AttributeError, ValueError, OSError, LookupError):
        _refuse_unknown(where, key, value, sorted(available_timezones()))
    return str(value)
