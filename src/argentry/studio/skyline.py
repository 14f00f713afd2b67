"""The skyline of a place from a file: a public elevation service's profile, or a traced panorama.

Three forms are read. The horizon profile of PVGIS (European Commission, Joint Research Centre) as
JSON has ``outputs.horizon_profile`` with ``A``, the azimuth from south, west positive, and
``H_hor``, the height in degrees. A table has one line of names: the same two, or ``azimuth`` from
north through east and ``elevation``. A table traced on a panorama photograph has ``x`` and ``y`` in
pixels, y downwards; in rows whose bearing or height was taken, ``azimuth`` or ``elevation`` too.
"""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from argentry.errors import BadInput
from argentry.files import MEGABYTE, read_file

Points = tuple[tuple[float, float], ...]

MOST_POINTS = 5000
FREE_GAP_DEG = 45.0  # where the file says nothing for so wide, the horizon is taken as free
APART_DEG = 2.0  # by which the bearings of a panorama may miss each other
FAR_DEG = 0.2  # a profile of a place farther off is another place's
RIGHT = (
    "give a horizon profile of PVGIS as JSON, or a table with the columns azimuth and elevation, "
    "A and H_hor, or x and y of a panorama (docs/studio.md)"
)
NO_POINTS = "no skyline is found in it"
TOO_MANY = "it has {count} points, more than {most}"
NOT_NUMBER = "{text!r} in column {column} is not a number"
OUT_OF_RANGE = "{value:g} in column {column} is out of range"
MISSING = "column {column} is empty"
FEW = "it has fewer than two points"
ELSEWHERE = "it is for {lat:.2f} {lon:.2f}, another place"
THIS_PLACE = "ask for the profile of this place"
TWO_BEARINGS = "a panorama needs the bearing of at least two points that lie apart"
ONE_HEIGHT = "a panorama needs the height of at least one point, 0 for one on the level"
GIVE_BEARING = "write the compass bearing of such points into the column azimuth"
GIVE_HEIGHT = "write it into the column elevation"
DISAGREE = "the bearings do not fit one panorama: one misses the others by {apart:.0f} degrees"
CHECK_BEARING = "check them, and that x runs to the right over the whole picture"


def read_skyline(path: Path, where: str, *, place: tuple[float, float] | None = None) -> Points:
    """Return the skyline in a file as azimuth from north through east and height [deg].

    Parameters
    ----------
    path : Path
        The file.
    where : str
        What named it, for the sentence.
    place : (float, float) or None
        Latitude and longitude of the place, held against what the file names. [deg]

    Raises
    ------
    BadInput
        If it cannot be read or understood, or is of another place.
    """
    data = read_file(path, MEGABYTE, RIGHT)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BadInput(where, "it is not UTF-8 text", RIGHT) from None
    if text.lstrip()[:1] in ("{", "["):
        pairs = _of_json(where, text, place)
    else:
        pairs = _of_table(where, text)
    if len(pairs) > MOST_POINTS:
        raise BadInput(where, TOO_MANY, RIGHT, count=len(pairs), most=MOST_POINTS)
    by_azimuth = {azimuth % 360.0: max(height, 0.0) for azimuth, height in pairs}
    if len(by_azimuth) < 2:
        raise BadInput(where, FEW, RIGHT)
    return tuple(sorted([*by_azimuth.items(), *_free_ends(sorted(by_azimuth))]))


def _free_ends(azimuths: Sequence[float]) -> Iterable[tuple[float, float]]:
    """Yield a free horizon just inside every gap that the file leaves open."""
    for low, high in zip(azimuths, [*azimuths[1:], azimuths[0] + 360.0], strict=True):
        if high - low > FREE_GAP_DEG:
            yield (low + 0.1) % 360.0, 0.0
            yield (high - 0.1) % 360.0, 0.0


def _of_json(where: str, text: str, place: tuple[float, float] | None) -> list[tuple[float, float]]:
    try:
        data = json.loads(text)
        rows = data["outputs"]["horizon_profile"]
        named = data.get("inputs", {}).get("location", {})
        of = None if not named else (float(named["latitude"]), float(named["longitude"]))
        rows = [{"A": str(row["A"]), "H_hor": str(row["H_hor"])} for row in rows]
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise BadInput(where, NO_POINTS, RIGHT) from None
    if of and place and any(abs(a - b) > FAR_DEG for a, b in zip(of, place, strict=True)):
        raise BadInput(where, ELSEWHERE, THIS_PLACE, lat=of[0], lon=of[1])
    return [_from_south(f"{where}, point {n}", row) for n, row in enumerate(rows, 1)]


def _of_table(where: str, text: str) -> list[tuple[float, float]]:
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    for number, line in enumerate(lines):
        split = _splitter(line)
        names = [name.strip() for name in split(line)]
        wanted = next((one for one in _FORMS if one <= set(names)), None)
        if wanted is None:
            continue
        rows = [dict(zip(names, split(one), strict=False)) for one in lines[number + 1 :]]
        # below its table a profile may say what its columns mean
        rows = [row for row in rows if _is_number(row.get(names[0], ""))]
        at = [(f"{where}, point {n}", row) for n, row in enumerate(rows, 1)]
        if wanted == {"x", "y"}:
            return _panorama(where, at)
        read = _from_south if wanted == {"A", "H_hor"} else _from_north
        return [read(*one) for one in at]
    raise BadInput(where, NO_POINTS, RIGHT)


_FORMS = ({"x", "y"}, {"A", "H_hor"}, {"azimuth", "elevation"})


def _splitter(line: str) -> Any:
    mark = next((mark for mark in (",", ";", "\t") if mark in line), None)
    if mark is None:
        return str.split

    def split(text: str) -> list[str]:
        cells = next(csv.reader(io.StringIO(text), delimiter=mark), [])
        return [cell for cell in cells if cell.strip()] if mark == "\t" else cells

    return split


def _is_number(text: str) -> bool:
    try:
        return math.isfinite(float(text))
    except ValueError:
        return False


def _number(where: str, row: Mapping[str, str], column: str, low: float, high: float) -> float:
    text = (row.get(column) or "").strip()
    if not text:
        raise BadInput(where, MISSING, RIGHT, column=column)
    if not _is_number(text):
        raise BadInput(where, NOT_NUMBER, RIGHT, text=text, column=column)
    value = float(text)
    if not low <= value <= high:
        raise BadInput(where, OUT_OF_RANGE, RIGHT, value=value, column=column)
    return value


def _from_south(where: str, row: Mapping[str, str]) -> tuple[float, float]:
    azimuth = _number(where, row, "A", -180.0, 180.0)
    return azimuth + 180.0, _number(where, row, "H_hor", -20.0, 90.0)


def _from_north(where: str, row: Mapping[str, str]) -> tuple[float, float]:
    azimuth = _number(where, row, "azimuth", 0.0, 360.0)
    return azimuth, _number(where, row, "elevation", -20.0, 90.0)


def _panorama(
    where: str, rows: Sequence[tuple[str, Mapping[str, str]]]
) -> list[tuple[float, float]]:
    """Return a traced panorama: azimuth even along x, the tangent of the height even along y.

    That is the cylinder on which panoramas are joined.
    """
    points = [tuple(_number(at, row, name, -1e6, 1e6) for name in ("x", "y")) for at, row in rows]
    bearings = [
        (x, _number(at, row, "azimuth", 0.0, 360.0))
        for (at, row), (x, _) in zip(rows, points, strict=True)
        if (row.get("azimuth") or "").strip()
    ]
    bearings.sort()
    if len(bearings) < 2 or bearings[0][0] == bearings[-1][0]:
        raise BadInput(where, TWO_BEARINGS, GIVE_BEARING)
    turned = [bearings[0][1]]
    for _, azimuth in bearings[1:]:  # to the right the bearing grows, through north as well
        turned.append(turned[-1] + (azimuth - turned[-1]) % 360.0)
    x_mean = sum(x for x, _ in bearings) / len(bearings)
    mean = sum(turned) / len(turned)
    spread = sum((x - x_mean) ** 2 for x, _ in bearings)
    turns = [(x - x_mean, b - mean) for (x, _), b in zip(bearings, turned, strict=True)]
    per_px = sum(x * b for x, b in turns) / spread
    apart = max(abs(per_px * x - b) for x, b in turns)
    if apart > APART_DEG or per_px <= 0.0:
        raise BadInput(where, DISAGREE, CHECK_BEARING, apart=apart)
    radius = math.degrees(1.0) / per_px  # of the cylinder [px]
    levels = [
        y + radius * math.tan(math.radians(_number(at, row, "elevation", -60.0, 80.0)))
        for (at, row), (_, y) in zip(rows, points, strict=True)
        if (row.get("elevation") or "").strip()
    ]
    if not levels:
        raise BadInput(where, ONE_HEIGHT, GIVE_HEIGHT)
    level = sum(levels) / len(levels)
    return [
        (mean + per_px * (x - x_mean), math.degrees(math.atan((level - y) / radius)))
        for x, y in points
    ]
