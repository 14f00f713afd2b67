"""Spectra: the generic ones that are shipped, and a maker's own files of two columns.

A file has a wavelength in nm and a value in each row, with or without a head, its columns held
apart by commas, semicolons, tabs or blanks. Transmissions are shares, percent or optical densities:
the head says which, else the largest value does; where neither can tell, the file is refused.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from functools import cache
from itertools import pairwise
from pathlib import Path

from argentry.errors import BadInput
from argentry.trade.facts import table, toml

Curve = tuple[tuple[float, ...], tuple[float, ...]]  # wavelength [nm] rising, value
Rows = list[tuple[int, list[str]]]  # number of the line, its cells

LARGEST_BYTES = 2_000_000
MOST_ROWS = 20_000
LEAST_ROWS, WIDEST_GAP_NM = 4, 20.0
LOWEST_NM, HIGHEST_NM = 200.0, 20_000.0
DENSITY_NOISE = -0.01
OVER = 1.005  # noise of an instrument above full transmission, and its like below none

# What a spectrum is of: whether it is a transmission, and the wavelengths it must hold [nm].
KINDS: Mapping[str, tuple[bool, float, float]] = {
    "filter": (True, 600.0, 690.0),
    "lens": (True, 390.0, 450.0),
    "window": (True, 400.0, 680.0),
    "lamp": (False, 400.0, 700.0),
    "meter": (False, 450.0, 650.0),
}

WRITE = "give a text file with two columns, wavelength in nm and {holds}"
WHAT = {True: "transmission", False: "power"}
NO_FILE = "{name} is neither a spectrum known here nor a file"
NAMES = "give a file of two columns, or one of: {names}"
TOO_BIG = "the file has {size} bytes"
SHORTER = "give at most {most} rows of wavelength and value"
NOT_TEXT = "the file is not text"
NOT_READ = "the file cannot be read ({why})"
TOO_FEW = "there are only {count} rows of numbers"
TOO_MANY = "there are {count} rows"
NOT_NUMBER = "{cell!r} is not a number"
TWO_COLUMNS = "the values in this line are {count}, not two"
KEEP_TWO = "write two: wavelength in nm and {holds}"
NOT_NM = "{value:g} is not a wavelength in nm"
IN_NM = "give nanometres, {low:g} to {high:g}"
TWICE = "the wavelength {value:g} nm stands there twice"
ONCE = "give each wavelength once"
UNSORTED = "the wavelengths neither rise nor fall from row to row"
SORT = "sort the rows by wavelength"
GAP = "nothing is given between {low:g} and {high:g} nm"
CLOSER = "give a row at least every {gap:g} nm from {first:g} to {last:g} nm"
SHORT_SPAN = "the rows run from {low:g} to {high:g} nm"
COVER = "cover {first:g} to {last:g} nm"
SHARE_OR_PERCENT = "it cannot be told whether {largest:g}, the largest value, is a share or percent"
NAME_UNIT = 'name the second column "percent" or "share" in a first line'
TOO_MUCH = "a transmission of {value:g} {unit} is more than all light"
BELOW_ZERO = "{value:g} is below zero"
NOT_BELOW = "give 0 or more"
ALL_DARK = "every value is 0"
NOT_DARK = "give the values as the instrument showed them"
UNITS = {"share": 1.0, "percent": 100.0}


@cache
def generic() -> Mapping[str, Mapping[str, str]]:
    """Return the shipped spectra: name to ``of``, ``column``, ``basis`` and ``source``."""
    return {row["name"]: row for row in toml("spectra")["spectrum"]}


def spectrum_named(where: str, name: str, kind: str, folder: Path | None) -> Curve:
    """Return a shipped spectrum by its name, or a maker's own from a file.

    Parameters
    ----------
    where : str
        The option or key that names it.
    name : str
        A name of `generic`, or a file.
    kind : str
        What it is of: one of `KINDS`.
    folder : Path or None
        Where a file's name starts from; None: no file can be read.

    Returns
    -------
    (tuple of float, tuple of float)
        Rising wavelengths [nm], and transmission [1] or power [any unit].

    Raises
    ------
    BadInput
        If there is neither, or the file cannot be used.
    """
    known = {one: row for one, row in generic().items() if row["of"] == kind}
    if name in known:
        columns, row = table("generic_spectra").columns, known[name]
        kept = columns["wavelength_nm"] >= float(row.get("from_nm", LOWEST_NM))
        return tuple(columns["wavelength_nm"][kept].tolist()), tuple(
            columns[row["column"]][kept].tolist()
        )
    path = None if folder is None else folder / name
    if path is None or not path.is_file():
        raise BadInput(where, NO_FILE, NAMES, name=name[:80], names=", ".join(known))
    here = "{where} {file}".format(where=where, file=path.name)
    what = WHAT[KINDS[kind][0]]
    try:
        size = path.stat().st_size
        if size > LARGEST_BYTES:
            raise BadInput(here, TOO_BIG, SHORTER, size=size, most=MOST_ROWS)
        data = path.read_bytes()
    except OSError as error:
        raise BadInput(here, NOT_READ, WRITE, why=error.strerror, holds=what) from None
    if b"\0" in data:
        raise BadInput(here, NOT_TEXT, WRITE, holds=what)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("latin-1")  # a head with a degree or micro sign; numbers are the same
    return spectrum_of_text(here, text, kind)


def spectrum_of_text(where: str, text: str, kind: str) -> Curve:
    r"""Return the spectrum that two columns of text hold, as `spectrum_named`.

    Parameters
    ----------
    where : str
        For the sentence of a mistake.
    text : str
        The file.
    kind : str
        One of `KINDS`.

    Raises
    ------
    BadInput
        If it cannot be used: which line, what is wrong, what would be right.

    Examples
    --------
    >>> text = "nm;%\n390;80\n410;90,5\n430;91\n450;92"
    >>> spectrum_of_text("lens", text, "lens")
    ((390.0, 410.0, 430.0, 450.0), (0.8, 0.905, 0.91, 0.92))
    """
    passes, first, last = KINDS[kind]
    head, rows = _rows(where, text, WHAT[passes])
    wavelength, value = _rising(where, [row[0] for row in rows], [row[1] for row in rows])
    inside = [low for low in wavelength if first <= low <= last]
    if wavelength[0] > first or wavelength[-1] < last or not inside:
        span = {"low": wavelength[0], "high": wavelength[-1]}
        raise BadInput(where, SHORT_SPAN, COVER, first=first, last=last, **span)
    for low, high in pairwise(wavelength):
        if high - low > WIDEST_GAP_NM and low < last and high > first:
            span = {"low": low, "high": high, "first": first, "last": last}
            raise BadInput(where, GAP, CLOSER, gap=WIDEST_GAP_NM, **span)
    value = _shares(where, head, value) if passes else _powers(where, value)
    if max(value) <= 0.0:
        raise BadInput(where, ALL_DARK, NOT_DARK)
    return tuple(wavelength), tuple(value)


def _rows(where: str, text: str, what: str) -> tuple[str, list[tuple[float, float]]]:
    """Return the head, and the numbers of the two columns."""
    lines = [
        (number, line.strip())
        for number, line in enumerate(text.splitlines(), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if len(lines) > MOST_ROWS:
        raise BadInput(where, TOO_MANY, SHORTER, count=len(lines), most=MOST_ROWS)
    apart = _separator([line for _, line in lines])
    cells: Rows = [
        (number, [cell.strip() for cell in (line.split() if apart is None else line.split(apart))])
        for number, line in lines
    ]
    head = ""
    if cells and _float(cells[0][1][0]) is None:
        head, cells = lines[0][1], cells[1:]
    if len(cells) < LEAST_ROWS:
        raise BadInput(where, TOO_FEW, WRITE, count=len(cells), holds=what)
    return head, [_pair(where, number, row, what) for number, row in cells]


def _separator(lines: Sequence[str]) -> str | None:
    """Return what holds the columns apart; None for blanks."""
    for mark in ("\t", ";"):
        if lines and all(mark in line for line in lines[1:]):
            return mark
    # a comma with a blank before the number beyond it may be a decimal comma: "400 0,5"
    if all(re.search(r"\d\s+[-+.,\d]", line) and not re.search(r",\s", line) for line in lines[1:]):
        return None
    return "," if any("," in line for line in lines[1:]) else None


def _pair(where: str, number: int, row: list[str], what: str) -> tuple[float, float]:
    here = "{where} line {number}".format(where=where, number=number)
    while len(row) > 2 and not row[-1]:
        row = row[:-1]
    if len(row) != 2:
        raise BadInput(here, TWO_COLUMNS, KEEP_TWO, count=len(row), holds=what)
    found = []
    for cell in row:
        value = _float(cell.removesuffix("%"))
        if value is None:
            raise BadInput(here, NOT_NUMBER, WRITE, cell=cell, holds=what)
        found.append(value)
    if not LOWEST_NM <= found[0] <= HIGHEST_NM:
        raise BadInput(here, NOT_NM, IN_NM, value=found[0], low=LOWEST_NM, high=HIGHEST_NM)
    return found[0], found[1]


def _float(cell: str) -> float | None:
    """Return a finite number, with a decimal point or comma, else None."""
    try:
        value = float(cell.strip().replace(",", "."))
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def _rising(
    where: str, wavelength: list[float], value: list[float]
) -> tuple[list[float], list[float]]:
    if wavelength[0] > wavelength[-1]:  # as many instruments write them
        wavelength, value = wavelength[::-1], value[::-1]
    for low, high in pairwise(wavelength):
        if low == high:
            raise BadInput(where, TWICE, ONCE, value=low)
        if low > high:
            raise BadInput(where, UNSORTED, SORT)
    return wavelength, value


def _shares(where: str, head: str, value: list[float]) -> list[float]:
    """Return transmissions as shares, by what the head says, else by the largest value."""
    said = head.casefold()
    if re.search(r"density|absorbance|\bod\b", said):
        return [min(1.0, 10.0**-one) for one in _powers(where, value, lowest=DENSITY_NOISE)]
    largest = max(value)
    if "%" in said or "percent" in said:
        unit = "percent"
    elif any(word in said for word in ("share", "fraction", "0-1", "0..1")) or largest <= OVER:
        unit = "share"
    elif largest >= 2.0:
        unit = "percent"
    else:
        raise BadInput(where, SHARE_OR_PERCENT, NAME_UNIT, largest=largest)
    full = UNITS[unit]
    if largest > OVER * full:
        raise BadInput(where, TOO_MUCH, NAME_UNIT, value=largest, unit=unit)
    if min(value) < -(OVER - 1.0) * full:
        raise BadInput(where, BELOW_ZERO, NOT_BELOW, value=min(value))
    return [min(1.0, max(0.0, one / full)) for one in value]


def _powers(where: str, value: list[float], lowest: float = 0.0) -> list[float]:
    if min(value) < lowest:
        raise BadInput(where, BELOW_ZERO, NOT_BELOW, value=min(value))
    return value
