"""The one table of the keys of ``studio.toml``: checks, comments and docs are made from it."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields
from functools import cache
from importlib.resources import files
from typing import Any

from argentry import trade
from argentry.records import studio as records
from argentry.records.instruments import DevelopmentFrame, IodineBox, Lamp, Lens, Meter
from argentry.records.units import FAHRENHEIT, INCH, Units

ENDS, MIDNIGHT = "end", "24:00"  # only what ends a day may be written as the midnight that ends it
# Which record each section fills.
RECORDS: Mapping[str, type] = {
    "studio": records.Studio,
    "site": records.Site,
    "lens": Lens,
    "box": IodineBox,
    "frame": DevelopmentFrame,
    "frame.lamp": Lamp,
    "room": records.Room,
    "water": records.Water,
    "hours": records.Hours,
    "subject": records.Subject,
    "habits": records.Habits,
    "units": Units,
    "prices": records.Prices,
    "weather": records.WeatherSource,
    "backups": records.Backups,
    "meter": Meter,
}

# Words of keys that no trade file lists, and the words used until one does.
WORDS: Mapping[str, tuple[str, ...]] = {
    "water.kind": ("distilled", "deionised", "tap"),
    "light.plane": ("sun", "shade", "window", "horizontal"),
    "exposure.glass": ("uncoated crown",),
    "exposure.pose": ("standing", "seated", "head-rest"),
    "development.lamp": ("halogen", "red led"),
    "units.temperature": ("celsius", FAHRENHEIT),
    "units.length": ("metric", INCH),
    "weather.source": ("none", "open-meteo", "open-meteo-ensemble", "met-norway", "bright-sky"),
    "weather.service": ("open-meteo", "open-meteo-ensemble", "met-norway", "bright-sky"),
    "sizes.size": ("whole", "half", "quarter", "sixth", "ninth", "sixteenth"),
}


@dataclass(frozen=True)
class Key:
    """One key of ``studio.toml``.

    Attributes
    ----------
    name : str
        As written in the file and as the record's field.
    kind : str
        ``"text"``, ``"number"``, ``"whole number"``, ``"yes or no"``, ``"word"``, ``"words"``,
        ``"clock time"``, ``"clock pairs"``, ``"angle pairs"``, ``"spectrum"``, ``"skyline"`` or
        ``"time zone"``.
    unit : str
        As printed; empty for a pure number.
    low, high : float
        Allowed range of numbers. [unit]
    above : bool
        True when `low` itself is refused.
    words : tuple of str
        Allowed words, for the kinds ``"word"`` and ``"words"``.
    example : Any
        A valid value, written into a new studio.
    about : str
        What it is: one sentence.
    absent : str
        What happens without it; empty for a required key.
    of : str
        For the kind ``"spectrum"``: what it is of.
    required : bool
        True when the record has no default for it.
    default : Any
        The record's default; None for a required key.
    """

    name: str
    kind: str
    unit: str
    low: float
    high: float
    above: bool
    words: tuple[str, ...]
    example: Any
    about: str
    absent: str
    of: str
    required: bool
    default: Any

    def allowed(self) -> str:
        """Return what may be written, in words: ``"a number from 0 to 1"``."""
        if self.kind in ("number", "whole number"):
            unit = f" {self.unit}" if self.unit else ""
            span = (
                "above {low:g} and up to {high:g}".format(low=self.low, high=self.high)
                if self.above
                else "from {low:g} to {high:g}".format(low=self.low, high=self.high)
            )
            return f"a {self.kind} {span}{unit}"
        if self.kind == "word":
            return "one of " + ", ".join(f'"{word}"' for word in self.words)
        if self.kind == "words":
            return "a list of any of " + ", ".join(f'"{word}"' for word in self.words)
        last = MIDNIGHT if self.name == ENDS else "23:59"
        return {
            "text": 'a name in quotes, such as "My studio"',
            "yes or no": "true or false, without quotes",
            "clock time": 'a clock time from "00:00" to "{last}"'.format(last=last),
            "clock pairs": 'pairs of clock times, such as [["12:30", "13:15"]]',
            "angle pairs": "pairs [azimuth 0 to 360, elevation 0 to 90] in deg, as [[90, 5]]",
            "spectrum": 'the name of a file or of a generic spectrum, such as "filter.csv"',
            "skyline": 'the name of a file in this folder, such as "skyline.json"',
            "time zone": 'an IANA time zone such as "Europe/Paris"',
        }[self.kind]


@dataclass(frozen=True)
class Section:
    """One section of ``studio.toml``.

    Attributes
    ----------
    name : str
        ``"site"``; ``"studio"`` for the keys at the top.
    title, about : str
        Heading, and what a maker must know of it.
    many : bool
        True when written ``[[name]]``, once for each instrument.
    optional : bool
        True when it may be left out.
    keys : tuple of Key
        In the order in which they are written.
    """

    name: str
    title: str
    about: str
    many: bool
    optional: bool
    keys: tuple[Key, ...]

    @property
    def head(self) -> str:
        """The line that opens it in the file; empty for the top."""
        if self.name == "studio":
            return ""
        return f"[[{self.name}]]" if self.many else f"[{self.name}]"


def _words(list_name: str) -> tuple[str, ...]:
    """Return the words of one list: from the trade's files when they hold it, else from `WORDS`."""
    subject, _, entry = list_name.partition(".")
    found = trade.toml(subject).get(entry) if subject in trade.subjects() else None
    if isinstance(found, dict):  # [glass."uncoated crown"]
        return tuple(found)
    if isinstance(found, list):  # [[size]] with a name
        return tuple(row["name"] for row in found)
    return WORDS[list_name]


@cache
def sections() -> tuple[Section, ...]:
    """Return every section with its keys, in the order of the file."""
    path = files("argentry.studio").joinpath("templates").joinpath("studio_keys.toml")
    table = tomllib.loads(path.read_text(encoding="utf-8"))
    return tuple(_section(name, entry) for name, entry in table.items())


@cache
def section(name: str) -> Section:
    """Return one section by its name."""
    return next(item for item in sections() if item.name == name)


def _section(name: str, entry: Mapping[str, Any]) -> Section:
    defaults = {
        field.name: field.default_factory()
        if field.default_factory is not MISSING
        else field.default
        for field in fields(RECORDS[name])
    }
    return Section(
        name=name,
        title=entry["title"],
        about=entry["about"],
        many=entry.get("many", False),
        optional=entry.get("optional", False),
        keys=tuple(_key(key, row, defaults[key]) for key, row in entry["keys"].items()),
    )


def _key(name: str, row: Mapping[str, Any], default: Any) -> Key:
    required = default is MISSING
    return Key(
        name=name,
        kind=row["kind"],
        unit=row.get("unit", ""),
        low=float(row.get("low", 0)),
        high=float(row.get("high", 0)),
        above=row.get("above", False),
        words=_words(row["words"]) if "words" in row else (),
        example=row["example"],
        about=row["about"],
        absent="" if required else row["absent"],
        of=row.get("of", ""),
        required=required,
        default=None if required else default,
    )
