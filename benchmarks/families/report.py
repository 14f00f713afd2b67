"""Run the measures over studios and set what was found beside what was asked."""

from __future__ import annotations

import sys
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from benchmarks.families import STUDIOS
from benchmarks.families.forms import FAMILIES
from benchmarks.families.measures import MEASURES


@dataclass(frozen=True)
class Wanted:
    """What to run: left empty, everything."""

    families: tuple[str, ...] = ()
    sizes: tuple[int, ...] = ()
    measures: tuple[str, ...] = ()
    studios: int = STUDIOS
    processes: int = 1
    by_family: bool = False


def seeds(families, studios):
    """Return (family, seed) of so many studios, the families in turn."""
    return [(families[n % len(families)], n // len(families)) for n in range(studios)]


def one(task):
    """Return what each measure says of one studio, with its seconds: a studio is fitted once."""
    measures, family, seed, plates = task
    found = {}
    for measure in measures:
        began = time.process_time()
        said = MEASURES[measure].of_studio(family, seed, plates)
        found[measure] = (said, time.process_time() - began)
    return found


def _results(wanted, tasks):
    if wanted.processes == 1:
        return list(map(one, tasks))
    with ProcessPoolExecutor(wanted.processes) as pool:
        return list(pool.map(one, tasks))


def table(wanted: Wanted):
    """Yield (plates, what, asked, found), size by size and measure by measure."""
    families = wanted.families or tuple(FAMILIES)
    measures = wanted.measures or tuple(MEASURES)
    sizes = {m: wanted.sizes or MEASURES[m].SIZES for m in measures}
    for plates in sorted({size for some in sizes.values() for size in some}):
        here = [m for m in measures if plates in sizes[m]]
        # measures of the same studios share them
        for taking in dict.fromkeys(_taking(m, families) for m in here):
            alike = tuple(m for m in here if _taking(m, families) == taking)
            drawn = seeds(taking, wanted.studios)
            found = _results(wanted, [(alike, family, seed, plates) for family, seed in drawn])
            for measure in alike:
                results = [one[measure][0] for one in found]
                yield from _rows(measure, plates, results, drawn, by_family=wanted.by_family)
                spent = sum(one[measure][1] for one in found)
                print(f"  [{measure}, {plates} plates: {spent:.0f} s]", file=sys.stderr, flush=True)


def _taking(measure, families):
    return tuple(getattr(MEASURES[measure], "KINDS", families))


def _rows(measure, plates, results, drawn, *, by_family):
    module = MEASURES[measure]
    for row in module.rows(results):
        yield plates, *row
    if by_family:
        for family in dict.fromkeys(family for family, _ in drawn):
            some = [r for r, (f, _) in zip(results, drawn, strict=True) if f == family]
            for what, asked, found in module.rows(some):
                yield plates, f"{family}: {what}", asked, found


# --- the page ---------------------------------------------------------------------------------

PAGE = Path(__file__).parents[2] / "docs" / "decisions" / "learning-families.md"


def write(section, rows, page=PAGE):
    """Put rows into the table of a section of the page; others that stand there stay."""
    text = page.read_text(encoding="utf-8")
    begin, end = (
        f"<!-- {word}: {section}, by benchmarks.families -->" for word in ("begin", "end")
    )
    head, rest = text.split(begin)
    old, tail = rest.split(end)
    page.write_text(f"{head}{begin}\n{merged(old, rows)}\n{end}{tail}", encoding="utf-8")


def merged(old, rows):
    """Return a Markdown table, one column of each size, of old lines and new rows."""
    lines = [
        [cell.strip() for cell in line.split("|")[1:-1]] for line in old.split("\n") if "|" in line
    ]
    sizes = [int(cell.split()[0]) for cell in lines[0][2:]] if lines else []
    found = {
        line[0]: (line[1], {size: cell for size, cell in zip(sizes, line[2:], strict=True) if cell})
        for line in lines[2:]
    }
    for plates, what, asked, figure in rows:
        found.setdefault(what, (asked, {}))[1][plates] = figure
        found[what] = (asked, found[what][1])
    every = sorted({size for _, figures in found.values() for size in figures})
    out = [
        "| what | asked | " + " | ".join(f"{size} plates" for size in every) + " |",
        "|" + "---|" * (2 + len(every)),
    ]
    for what, (asked, figures) in found.items():
        out.append(f"| {what} | {asked} | " + " | ".join(figures.get(s, "") for s in every) + " |")
    return "\n".join(out)
