"""Read a studio folder: ``studio.toml`` as records, or every mistake in it."""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from functools import lru_cache
from pathlib import Path
from typing import Any

from argentry.errors import BadInput
from argentry.files import TOML_BYTES, read_file, toml_of
from argentry.records.instruments import Lamp, Spectrum, lamp_mistake
from argentry.records.studio import Hours, Studio
from argentry.studio.check import read_section, read_value, unknown_name
from argentry.studio.keys import RECORDS, section, sections
from argentry.studio.skyline import read_skyline

FILE = "studio.toml"
NAME_FOLDER = "name the folder that holds studio.toml"
EURO = "EUR"
SKYLINE_IN = "studio.toml [site] skyline"
NO_FOLDER = "there is no folder that the file could lie in"
# Field of Studio that each [[section]] fills.
MANY = {"lens": "lenses", "box": "boxes", "frame": "frames"}


def read_studio(path: Path) -> Studio:
    """Return the studio kept in folder `path`.

    Parameters
    ----------
    path : Path
        The folder, or its ``studio.toml``.

    Raises
    ------
    BadInput
        If it cannot be read, or has mistakes: the first, and how many more there are.
    """
    studio, mistakes = check_studio(path)
    if studio is None:
        first = mistakes[0]
        if len(mistakes) > 1:
            more = "{right} ({count} more: argentry studio check {path})"
            right = more.format(right=first.right, count=len(mistakes) - 1, path=path)
            raise BadInput(first.where, first.what, right)
        raise first
    return studio


def check_studio(path: Path) -> tuple[Studio | None, tuple[BadInput, ...]]:
    """Return the studio in folder `path`, or None, and every mistake found.

    Parameters
    ----------
    path : Path
        The folder, or its ``studio.toml``.

    Returns
    -------
    studio : Studio or None
        None when there is any mistake.
    mistakes : tuple of BadInput
        One sentence each.
    """
    try:
        tables = _tables(path)
    except BadInput as mistake:
        return None, (mistake,)
    return studio_from_tables(tables, path.parent if path.suffix == ".toml" else path)


def _tables(path: Path) -> dict[str, Any]:
    """Return the parsed TOML of a studio folder."""
    file = path if path.suffix == ".toml" else path / FILE
    make = "make one with: argentry studio new {path}".format(path=path)
    if not path.exists():
        raise BadInput(str(path), "there is no such studio folder", make)
    if path.is_file() and file is not path:
        raise BadInput(str(path), "this is a file, not a studio folder", NAME_FOLDER)
    if not file.is_file():
        raise BadInput(str(path), "there is no {file} here".format(file=FILE), make)
    return deepcopy(_parsed(str(file), read_file(file, TOML_BYTES, "check its permissions")))


@lru_cache(maxsize=4)  # every page reads the file, which hardly ever changes
def _parsed(name: str, text: bytes) -> dict[str, Any]:
    found: dict[str, Any] = toml_of(name, text)
    return found


def check_text(text: str, folder: Path) -> tuple[Studio | None, tuple[BadInput, ...]]:
    """Return the studio that a text would be in a folder, or None, and every mistake in it.

    Parameters
    ----------
    text : str
        What is to become ``studio.toml``.
    folder : Path
        Where the files lie that it names.
    """
    try:
        tables = toml_of(FILE, text.encode("utf-8"))
    except BadInput as mistake:
        return None, (mistake,)
    return studio_from_tables(tables, folder)


def studio_from_tables(
    tables: Mapping[str, Any],
    folder: Path | None = None,
) -> tuple[Studio | None, tuple[BadInput, ...]]:
    """Return the studio that parsed TOML describes, or None, and every mistake in it.

    Parameters
    ----------
    tables : Mapping[str, Any]
        Parsed ``studio.toml``.
    folder : Path or None
        Where the files lie that it names; None: it may name none.

    Returns
    -------
    studio : Studio or None
        None when there is any mistake.
    mistakes : tuple of BadInput
        One sentence each.
    """
    mistakes: list[BadInput] = []
    names = [part.name for part in sections() if part.name not in ("studio", "frame.lamp")]
    top_keys = [key.name for key in section("studio").keys]
    top = {name: tables[name] for name in top_keys if name in tables}
    mistakes.extend(
        unknown_name(FILE, name, [*names, *top_keys], "section or key")
        for name in tables
        if name not in names and name not in top_keys
    )
    fields: dict[str, Any] = dict(read_section(FILE, section("studio"), top, mistakes) or {})
    for name in names:
        if name in MANY:
            fields[MANY[name]] = _many(name, tables.get(name), mistakes, folder)
        elif name in tables:
            values = read_section(f"{FILE} [{name}]", section(name), tables[name], mistakes, folder)
            if name == "site" and values is not None and "skyline" in values:
                values = _with_skyline(values, mistakes, folder)
            fields[name] = None if values is None else RECORDS[name](**values)
        elif not section(name).optional:
            mistakes.append(_missing(name))
    mistakes.extend(_together(fields))
    return (None, tuple(mistakes)) if mistakes else (Studio(**fields), ())


def _with_skyline(
    site: Mapping[str, Any], mistakes: list[BadInput], folder: Path | None
) -> Mapping[str, Any] | None:
    """Return a site with the skyline of its file; None, and what is wrong, where it has none."""
    where = SKYLINE_IN
    place = (site["latitude_deg"], site["longitude_deg"])
    if folder is None:
        mistakes.append(BadInput(where, NO_FOLDER, "write horizon instead"))
    else:
        try:
            return {**site, "horizon": read_skyline(folder / site["skyline"], where, place=place)}
        except BadInput as mistake:
            mistakes.append(mistake)
    return None


def _missing(name: str) -> BadInput:
    part = section(name)
    needed = ", ".join(key.name for key in part.keys if key.required)
    right = "add it with at least {needed}".format(needed=needed)
    return BadInput(f"{FILE} {part.head}", "missing", right)


def _many(name: str, rows: Any, mistakes: list[BadInput], folder: Path | None) -> tuple[Any, ...]:
    part = section(name)
    if rows is None or rows == []:
        mistakes.append(_missing(name))
        return ()
    if not isinstance(rows, list):
        mistakes.append(
            BadInput(
                f"{FILE} {name}",
                "this is one section, not a list",
                "write {head} with two brackets",
                head=part.head,
            )
        )
        return ()
    out: list[Any] = []
    for number, row in enumerate(rows, 1):
        where = f"{FILE} [[{name}]] {number}"
        values = read_section(where, part, _with_edge(name, row, folder), mistakes, folder)
        if name == "frame" and isinstance(row, dict) and "lamp" in row:
            said = read_section(
                f"{where} lamp", section("frame.lamp"), row["lamp"], mistakes, folder
            )
            lamp = None if said is None else Lamp(**said)
            if lamp is not None and (mistake := lamp_mistake(f"{where} lamp", lamp, {})):
                mistakes.append(mistake)
            if values is not None:
                values = {**values, "lamp": lamp}
        if values is not None:
            out.append(RECORDS[name](**values))
    seen: set[str] = set()
    for record in out:
        if record.name in seen:
            mistakes.append(
                BadInput(
                    f"{FILE} {part.head}",
                    'two are called "{name}"',
                    "give each its own name",
                    name=record.name,
                )
            )
        seen.add(record.name)
    return tuple(out)


def _with_edge(name: str, row: Any, folder: Path | None) -> Any:
    """Return a frame whose filter has a spectrum with the edge and transmission that it shows."""
    if name != "frame" or not isinstance(row, dict) or "spectrum" not in row:
        return row
    key = next(key for key in section(name).keys if key.name == "spectrum")
    try:
        shown: Spectrum = read_value("", key, row["spectrum"], folder)
    except BadInput:  # it is told with the other mistakes of the section
        return {"cut_on_nm": 600.0, **row}
    return {**row, "cut_on_nm": round(shown.half_way_nm, 1), "transmission": shown.most}


def hours_mistakes(hours: Hours, where: Mapping[str, str]) -> list[BadInput]:
    """Return what is wrong with hours that are each possible.

    Parameters
    ----------
    hours : Hours
        When hands are there.
    where : Mapping[str, str]
        Where ``end`` and ``breaks`` stand, for the sentence.
    """
    if hours.start >= hours.end:
        return [
            BadInput(
                where["end"],
                "{end} is not after start {start}",
                "let the day end later, at 24:00 at the most: what follows is of the next day",
                start=hours.start,
                end=hours.end,
            )
        ]
    return [
        BadInput(
            where["breaks"],
            "{start} to {end} is outside the hours",
            "give breaks within {first} to {last}",
            start=start,
            end=end,
            first=hours.start,
            last=hours.end,
        )
        for start, end in hours.breaks
        if start < hours.start or end > hours.end
    ]


def _together(fields: Mapping[str, Any]) -> list[BadInput]:
    """Return the mistakes that show only when two values are seen together."""
    out: list[BadInput] = []
    hours = fields.get("hours")
    if hours is not None:
        out += hours_mistakes(hours, {key: f"{FILE} [hours] {key}" for key in ("end", "breaks")})
    out += [
        BadInput(
            FILE + " [[box]] " + box.name,
            "crystal_area_cm2 {crystals:g} is more than the floor_area_cm2 of {floor:g}",
            "crystals cannot cover more than the floor",
            crystals=box.crystal_area_cm2,
            floor=box.floor_area_cm2,
        )
        for box in fields.get("boxes", ())
        if box.crystal_area_cm2 > box.floor_area_cm2
    ]
    subject = fields.get("subject")
    if subject is not None:
        out += [
            BadInput(
                FILE + " [subject] distance_m",
                "{distance:g} m is not beyond the focal length of lens {lens} ({focal:g} mm)",
                "no image forms there: give the distance from lens to subject in metres",
                distance=subject.distance_m,
                lens=lens.name,
                focal=lens.focal_length_mm,
            )
            for lens in fields.get("lenses", ())
            if subject.distance_m * 1000 <= lens.focal_length_mm
        ]
    habits = fields.get("habits")
    if habits is not None and habits.good_share_plates > 0 and habits.good_share is None:
        out.append(
            BadInput(
                FILE + " [habits] good_share",
                "missing, though good_share_plates is {plates}",
                "give both or neither",
                plates=habits.good_share_plates,
            )
        )
    units, prices = fields.get("units"), fields.get("prices")
    own = prices is not None and None not in (
        prices.silver_per_g,
        prices.gold_per_g,
        prices.sundries_per_plate,
    )
    if units is not None and units.currency != EURO and units.per_euro is None and not own:
        out.append(
            BadInput(
                FILE + " [units] per_euro",
                "missing, though the currency is {currency} and the trade's prices are in euros",
                "give it, or all three [prices]",
                currency=units.currency,
            )
        )
    return out
