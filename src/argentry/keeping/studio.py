"""Open a studio folder, make a new one, check one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from argentry.book.hold import FILE
from argentry.errors import BadInput

if TYPE_CHECKING:
    from collections.abc import Mapping

    from argentry.keeping.weather import WeatherFile
    from argentry.records.studio import Studio

TABLE = "plates.csv"  # where a studio without a book has its plates
# Which key each option of `studio new` sets.
OPTIONS = {
    "--name": ("studio", "name"),
    "--lat": ("site", "latitude_deg"),
    "--lon": ("site", "longitude_deg"),
    "--elevation-m": ("site", "elevation_m"),
    "--tz": ("site", "time_zone"),
}
EDIT = "edit {file}"
CHECK = "argentry studio check {folder}"
AGREE = "argentry weather agree SERVICE --studio {folder}   (weather by itself, once you agree)"
DAY = "argentry day --studio {folder}"
INVENTED = "This studio is invented: place and people are not real."
NO_SKYLINE = "No skyline is given: a free horizon is assumed; morning and evening may be darker."
NO_DENSITY = "No filter's density below 450 nm is measured: the leak of violet is not known."
NO_SPEED = "Plate speed is the trade's starting value: the first times are rough guesses."
NO_PLATES = "The odds rest on no plates yet."


@dataclass(frozen=True)
class NewStudio:
    """A new studio folder, written on example values.

    Attributes
    ----------
    file : str
        The studio.toml that was written.
    change : tuple of str
        Keys that still hold example values, as section and key: site.latitude_deg.
    next : tuple of str
        What to do now, one line each.
    """

    file: str
    change: tuple[str, ...]
    next: tuple[str, ...]


@dataclass(frozen=True)
class Mistake:
    """One mistake.

    Attributes
    ----------
    where : str
        File, section and key.
    what : str
        What is wrong.
    right : str
        What would be right.
    sentence : str
        All three as one sentence.
    """

    where: str
    what: str
    right: str
    sentence: str


@dataclass(frozen=True)
class StudioCheck:
    """What a studio folder holds, or every mistake in it; exit code 2 when there is one.

    Attributes
    ----------
    ok : bool
        True when there is no mistake.
    mistakes : tuple of Mistake
        Every mistake.
    notes : tuple of str
        What is not wrong but worth knowing, one sentence each.
    studio : Studio or None
        Its values; null when the studio has mistakes.
    weather : WeatherFile or None
        What the weather file holds; null without a weather file that can be read.
    """

    ok: bool
    mistakes: tuple[Mistake, ...]
    notes: tuple[str, ...]
    studio: Studio | None
    weather: WeatherFile | None


def studio_folder(path: Path) -> Path:
    """Return the studio folder of a path that may name its ``studio.toml`` instead."""
    return path.parent if path.name == "studio.toml" else path


def load_studio(path: Path | str) -> Studio:
    """Return the studio kept in folder `path`.

    Parameters
    ----------
    path : Path or str
        The studio folder, or its ``studio.toml``.

    Returns
    -------
    Studio
        Its values.

    Raises
    ------
    BadInput
        If there is no such folder or the file has mistakes: the first of them, and how many more.
    """
    from argentry.studio.file import read_studio

    return read_studio(Path(path))


def name_of(folder: Path | None) -> str:
    """Return the name of a studio; empty without one."""
    return "" if folder is None else load_studio(folder).name


def new_studio(path: Path, given: Mapping[str, Any]) -> NewStudio:
    """Write a new commented studio of example values, marked to be changed.

    Parameters
    ----------
    path : Path
        The studio folder; made when it is not there.
    given : Mapping[str, Any]
        Option of `OPTIONS` to its value, None when not given; a given value is not marked.

    Raises
    ------
    BadInput
        If an option's value is impossible, or the folder holds a studio already.
    """
    from argentry.studio.check import read_value
    from argentry.studio.file import studio_from_tables
    from argentry.studio.keys import section, sections
    from argentry.studio.text import studio_text, write_studio

    tables: dict[str, Any] = {}
    change: list[str] = []
    for part in sections():
        values = {key.name: key.example for key in part.keys if key.required}
        change += [f"{part.name}.{name}" for name in values]
        if part.name == "studio":
            tables.update(values)
        elif part.name != "frame.lamp":
            tables[part.name] = [values] if part.many else values
    for option, (part_name, name) in OPTIONS.items():
        value = given.get(option)
        if value is None:
            continue
        key = next(key for key in section(part_name).keys if key.name == name)
        target = tables if part_name == "studio" else tables[part_name]
        target[name] = read_value(option, key, value)
        change.remove(f"{part_name}.{name}")
    studio, mistakes = studio_from_tables(tables)
    if studio is None:  # the examples are tested, so only a broken install comes here
        raise mistakes[0]
    shown = [name for name in change if not name.startswith("frame.lamp")]
    file = write_studio(path, studio_text(studio, shown))
    after = (EDIT.format(file=file), *(one.format(folder=path) for one in (CHECK, AGREE, DAY)))
    return NewStudio(str(file), tuple(shown), after)


def check_studio(
    path: Path, weather: Path | None = None, mapping: Path | None = None
) -> StudioCheck:
    """Return what a studio folder holds, or every mistake in it.

    Parameters
    ----------
    path : Path
        The studio folder, or its ``studio.toml``.
    weather, mapping : Path or None
        A weather file to check for this studio, and its mapping: see `read_weather`.
    """
    from argentry.studio.file import check_studio as check

    studio, found = check(path)
    mistakes, sky, notes = list(found), None, [] if studio is None else _notes(studio)
    if weather is not None:
        from argentry.keeping.weather import read_weather, weather_summary

        try:
            read = read_weather(weather, mapping)
        except BadInput as mistake:
            mistakes.append(mistake)
        else:
            if studio is not None:
                sky = weather_summary(read, studio.site.latitude_deg, studio.site.longitude_deg)
                notes += [sky.doubt] if sky.doubt else []
    told = tuple(Mistake(m.where, m.what, m.right, str(m)) for m in mistakes)
    return StudioCheck(not mistakes, told, tuple(notes), studio, sky)


def _notes(studio: Studio) -> list[str]:
    """Return what a maker should know although nothing is wrong."""
    from argentry.sky.place import zone_note

    notes: list[str] = []
    site, habits = studio.site, studio.habits
    if studio.invented:
        notes.append(INVENTED)
    if not site.horizon:
        notes.append(NO_SKYLINE)
    zone = zone_note(site.time_zone, site.longitude_deg, datetime.now(UTC).year)
    if zone:
        notes.insert(0, zone)
    if all(f.blocking_density is None for f in studio.frames):
        notes.append(NO_DENSITY)
    if habits.plate_speed is None:
        notes.append(NO_SPEED)
    if habits.good_share_plates == 0:
        notes.append(NO_PLATES)
    return notes


def skyline_in(path: Path, place: tuple[float, float]) -> tuple[tuple[float, float], ...]:
    """Return the skyline in a file, as azimuth from north and height, checked for a place.

    Parameters
    ----------
    path : Path
        See docs/studio.md.
    place : (float, float)
        Latitude and longitude. [deg]

    Raises
    ------
    BadInput
        If it cannot be understood, or is of another place.
    """
    from argentry.studio.skyline import read_skyline

    return read_skyline(path, path.name, place=place)


def has_book(folder: Path | None, address: str | None = None) -> bool:
    """Return True when there is a book to open: at an address, or as a file in the folder."""
    return address is not None or (folder is not None and (folder / FILE).is_file())
