"""A mapping drafted from a messy table: what each column is taken for, and what must be asked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from itertools import chain
from typing import Any
from zoneinfo import ZoneInfo

from argentry.exchange.notebook import signs
from argentry.exchange.notebook.drafted import Draft, Memory
from argentry.exchange.notebook.guess import (
    SPAN,
    spans,
    told_by_span,
    unit_of,
    word_key,
    words_of,
)
from argentry.exchange.notebook.heads import (
    find_head,
    head_says,
    names_columns,
    plates_in_row,
    says_another,
)
from argentry.exchange.notebook.rest import ORIGIN, WRONG
from argentry.exchange.plates.cells import RowReader, plain
from argentry.exchange.plates.columns import REQUIRED, defect_stages
from argentry.exchange.plates.days import date_forms, no_such_day
from argentry.exchange.plates.mapping import PlateMapping, Source, fields, units_of
from argentry.exchange.plates.moments import SKIPPED, TWICE, offsets_of
from argentry.exchange.plates.table import plates_from
from argentry.exchange.sheets.grid import Grid
from argentry.exchange.sheets.layout import Layout, lay_out
from argentry.records.answers.notebook import DraftColumn, Question, in_words
from argentry.trade.notebook import notebook_words, plain_word, plain_words

JUDGEMENTS = ("grade", "exposure_verdict")  # without these plates teach next to nothing
OWN, SKIP = "own", "skip"  # answers for a column that fills no field
LEAVE = ""  # answer for a word or a time that says nothing
SAMPLE = 200  # cells of a column that tell its unit
ANY_DAY = date(2001, 1, 1)
MOST_WORDS = 60  # asked about; the rows of the others are listed
COLUMN = "{name} ({examples}): what is it?"
UNIT = "{name} ({examples}): in which unit?"
WORD = "{name}: what does {word!r} mean?"
SKIPPED_HOUR = "{moment} did not exist: clocks went forward. Which offset did the clock show?"
TWICE_HOUR = "{moment} came twice: clocks went back. Which offset was meant?"
NEEDED = "Which column holds the {field} of each plate?"


def draft_mapping(
    grid: Grid,
    *,
    memory: Memory | None = None,
    answers: Mapping[str, str] | None = None,
    time_zone: str = "UTC",
) -> Draft:
    """Return what the columns of a file are taken for.

    Parameters
    ----------
    grid : Grid
        The cells of the file.
    memory : Memory, optional
        What was answered for earlier notebooks.
    answers : Mapping[str, str], optional
        Key of a question to its answer; the keys of `Question` also answer what was not asked.
    time_zone : str
        IANA zone of times without an offset.

    Raises
    ------
    BadInput
        If no column is named, or there is no row below the head.
    """
    return _Drafting(grid, memory or Memory(), answers or {}, time_zone).draft()


def _named(column: str) -> str:
    words = in_words(column)
    return words[0].upper() + words[1:]


class _Drafting:
    """The state of one drafting, step by step."""

    def __init__(
        self, grid: Grid, memory: Memory, answers: Mapping[str, str], time_zone: str
    ) -> None:
        self.grid, self.memory, self.answers, self.zone = grid, memory, answers, time_zone
        self.head_row, self.head_rows = find_head(grid, memory.heads)
        self.count = plates_in_row(grid, self.head_row, self.head_rows)
        self._lay_out(Layout(self.head_row, self.head_rows, self.count))
        self.questions: list[Question] = []
        self.sure: dict[str, bool] = {}

    def _lay_out(self, layout: Layout) -> None:
        self.sheet = lay_out(self.grid, layout)
        ends = [row for row, words in self.sheet.breaks if names_columns(words)]
        self.cells = {
            name: [
                row[at]
                for number, row in self.sheet.rows
                if row[at] is not None
                and number not in self.sheet.unclear
                and not (ends and number >= ends[0])  # of another table
            ]
            for at, name in enumerate(self.sheet.head)
        }

    def draft(self) -> Draft:
        """Return the draft."""
        taken = self._fields()
        layout = self._in_rows({held: name for name, (held, _) in taken.items()})
        self._lay_out(layout)
        mapping = replace(self._signs(taken), divider=layout.divider, repeat=layout.repeat)
        sources: dict[str, Source] = {}
        for name, (held, unit) in taken.items():
            if held in (OWN, SKIP):
                continue
            sources[held] = self._source(name, held, unit, mapping.sign_of(name))
            if held == SPAN[0] and spans(self.cells[name][:SAMPLE]):
                sources.setdefault(SPAN[1], Source(name))  # a column of its own goes before
        mapping = replace(mapping, fields={key: sources[key] for key in fields() if key in sources})
        mapping = replace(mapping, hours=self._hours(mapping))
        columns = tuple(
            DraftColumn(
                name,
                taken[name][0],
                sources[taken[name][0]].unit if taken[name][0] in sources else "",
                self._examples(name),
                self.sure.get(name, True),
            )
            for name in self.sheet.head
        )
        titles = tuple(
            plain(cell)
            for row in self.grid.rows[: self.head_row - 1]
            for cell in row
            if cell is not None
        )
        guessed = {
            one.key.removeprefix("need:") for one in self.questions if one.key.startswith("need:")
        }
        known = any(one.field not in (OWN, SKIP, *guessed) for one in columns)
        return Draft(mapping, columns, tuple(self.questions), titles, known)

    def _ask(self, key: str, text: str, choices: Sequence[str], suggested: str) -> str:
        """Return the answer to a question; ask it when there is none."""
        if key in self.answers:
            return self.answers[key]
        self.questions.append(Question(key, text, tuple(choices), suggested))
        return suggested

    def _examples(self, name: str) -> tuple[str, ...]:
        return tuple(dict.fromkeys(plain(cell)[:24] for cell in self.cells[name][:50]))[:3]

    def _fields(self) -> dict[str, tuple[str, str]]:
        """Return every column's field, or `OWN` or `SKIP`, with the unit it is known to be in."""
        taken: dict[str, tuple[str, str]] = {}
        held: set[str] = set()
        for name, (one, unit) in self._known().items():
            if one in (OWN, SKIP) or one not in held:
                taken[name] = (one, unit)
                held.add(one)
        offers = []
        for at, name in enumerate(self.sheet.head):
            if name not in taken:
                found, unit, exact = head_says(name)
                found = told_by_span(found, self.cells[name][:SAMPLE])
                fit = {one: self._fit(name, one, unit) for one in found}
                offers.append((not exact, -max(fit.values(), default=0.0), at, name, fit, unit))
        for guessed, _, _, name, fit, unit in sorted(offers):
            free = [one for one in fit if one not in held]
            best = max(free, key=lambda one: fit[one], default="")
            if not best or fit[best] < 0.5:
                taken[name] = (OWN, "")
                if fit:  # the name is known, but the place is taken or the cells do not fit
                    self._column(name, OWN, (*free, OWN, SKIP), taken)
                continue
            taken[name] = (best, unit)
            if guessed:
                self._column(name, best, (*free, OWN, SKIP), taken)
            held.add(taken[name][0])
        self._by_words(taken, held)
        self._needed(taken)
        return {name: taken[name] for name in self.sheet.head}

    def _by_words(self, taken: dict[str, tuple[str, str]], held: set[str]) -> None:
        """Offer a column whose name says nothing for what its cells say, such as good and lost."""
        for field in JUDGEMENTS:
            own = [] if field in held else [name for name, (one, _) in taken.items() if one == OWN]
            free = [one for one in own if f"column:{one}" not in self.answers]
            for name in [one for one in free if self._says(one, field)][:1]:
                # it may have been asked about by its name
                self.questions = [q for q in self.questions if q.key != f"column:{name}"]
                self._column(name, field, (field, OWN, SKIP), taken)

    def _says(self, name: str, field: str) -> bool:
        cells = {text for cell in self.cells[name] if plain_word(text := plain(cell))}
        unknown = words_of(field, cells, self.memory.words.get(field, {}))[1]
        return len(cells) > 1 and not unknown

    def _column(
        self, name: str, best: str, choices: Sequence[str], taken: dict[str, tuple[str, str]]
    ) -> None:
        text = COLUMN.format(name=_named(name), examples=", ".join(self._examples(name)))
        self.sure[name] = False
        self._ask(f"column:{name}", text, choices, best)
        taken[name] = (best, taken[name][1])

    def _known(self) -> dict[str, tuple[str, str]]:
        """Return the columns that were answered for, now or for an earlier notebook."""
        out = {}
        for name in self.sheet.head:
            given = self.answers.get(f"column:{name}", "")
            if name == WRONG or ORIGIN.fullmatch(name):  # of a list to mend
                given = SKIP
            kept = self.memory.heads.get(plain_words(name))
            taken, unit = (given, "") if given or kept is None else kept
            if taken in fields() or taken in (OWN, SKIP):
                said = head_says(name)[1]
                fits = taken in fields() and said in units_of(fields()[taken])
                out[name] = (taken, unit or (said if fits else ""))
        for needed in REQUIRED:
            if self.answers.get(f"need:{needed}") in self.sheet.head:
                out[self.answers[f"need:{needed}"]] = (needed, "")
        return out

    def _needed(self, taken: dict[str, tuple[str, str]]) -> None:
        """Take a column for each field needed: by its name, or by its cells with one question."""
        for needed in reversed(REQUIRED):  # a day is told by its cells, a label may be any text
            if needed in (one for one, _ in taken.values()):
                continue
            free = [
                name for name, (one, _) in taken.items()
                if one == OWN and not says_another(name, needed)
            ]  # fmt: skip
            fits = [name for name in free if self._fit(name, needed, "") > 0.8]
            if needed == "plate":
                fits = [
                    name
                    for name in fits
                    if len({*map(plain, self.cells[name])}) > 0.8 * len(self.cells[name])
                ]
            if free:
                said = [name for name in free if needed in head_says(name)[0]]
                best = (said or fits or free)[0]
                self.questions = [q for q in self.questions if q.key != f"column:{best}"]
                if best not in said:
                    self._ask(f"need:{needed}", NEEDED.format(field=needed), free, best)
                taken[best] = (needed, "")

    def _fit(self, name: str, held: str, unit: str) -> float:
        """Return the share of a column's cells that a field can take."""
        missing = notebook_words().marks["missing"]
        column = fields()[held]
        cells = [c for c in self.cells[name][:SAMPLE] if plain(c).casefold() not in missing]
        if not cells:
            return 0.6
        if column.kind == "text":
            return 0.9
        if column.kind == "date":
            return sum(1.0 for cell in cells if not isinstance(cell, (int, float)) and (
                not isinstance(cell, str) or date_forms(cell) or no_such_day(cell))
            ) / len(cells)  # fmt: skip
        if column.kind in ("word", "defects"):
            _, unknown = words_of(held, cells, self.memory.words.get(held, {}))
            return 1.0 - 0.4 * min(1.0, len(unknown) / len({*map(plain, cells)}))
        return self._read(name, held, unit, cells)

    def _read(self, name: str, held: str, unit: str, cells: Sequence[Any]) -> float:
        source = Source(name, unit_of(held, unit, cells, "either")[0])
        mapping = PlateMapping(decimal=signs.decimal_in(cells, "either"))
        reader = RowReader({held: source}, (), {name: 0}, mapping, ZoneInfo("UTC"))
        return sum(reader.takes(held, cell, ANY_DAY) for cell in cells) / len(cells)

    def _signs(self, taken: Mapping[str, tuple[str, str]]) -> PlateMapping:
        """Return decimal sign, forms of dates and signs of "not known"."""
        kinds = {name: fields()[one].kind for name, (one, _) in taken.items() if one in fields()}
        numbers = {name: self.cells[name] for name, kind in kinds.items() if "number" in kind}
        own = [name for name, (one, _) in taken.items() if one == OWN]
        columns = numbers | {name: signs.bare_numbers(self.cells[name]) for name in own}
        decimal = self._open(signs.sign_of_file([*chain(*numbers.values())], self.answers))
        marks = notebook_words().marks["missing"]
        found = {
            plain(cell) for cells in self.cells.values() for cell in cells if isinstance(cell, str)
        }
        return PlateMapping(
            separator=self.grid.separator,
            encoding=self.grid.encoding if self.grid.encoding in ("cp1252", "latin-1") else "",
            decimal=decimal,
            # what the maker answered holds for every column
            decimals={} if "decimal" in self.answers else signs.signs_of_columns(columns, decimal),
            date_format=self._dates(taken),
            sheet=self.grid.sheet,
            head_row=self.head_row,
            head_rows=self.head_rows,
            plates_in_row=self.count,
            missing=tuple(sorted(text for text in found if text.casefold() in marks)),
            skip=tuple(name for name, (held, _) in taken.items() if held == SKIP),
        )

    def _dates(self, taken: Mapping[str, tuple[str, str]]) -> str:
        name = next((name for name, (held, _) in taken.items() if held == "date"), None)
        cells = [one for one in self.cells.get(name or "", ()) if isinstance(one, (str, date))]
        return self._open(signs.forms_of_dates(cells, self.answers))

    def _open(self, said: tuple[str, Question | None]) -> str:
        """Return what the cells say, and ask what they leave open."""
        self.questions += [said[1]] if said[1] else []
        return said[0]

    def _source(self, name: str, held: str, unit: str, decimal: str) -> Source:
        column, cells = fields()[held], self.cells[name]
        if column.kind in ("number", "whole number"):
            known = self.answers.get(f"unit:{name}")
            if known is not None and known in units_of(column):
                return Source(name, known)
            unit, sure = unit_of(held, unit, cells[:SAMPLE], decimal)
            if not sure:
                text = UNIT.format(name=_named(name), examples=", ".join(self._examples(name)))
                unit = self._ask(f"unit:{name}", text, units_of(column), unit or column.unit)
            return Source(name, "" if unit == column.unit else unit)
        if column.kind in ("word", "defects"):
            return Source(name, words=self._words(name, held, cells))
        return Source(name)

    def _words(self, name: str, held: str, cells: Sequence[Any]) -> Mapping[str, str]:
        known = dict(self.memory.words.get(held, {}))
        for key, answer in self.answers.items():
            kind, _, rest = key.partition(":")
            of, _, word = rest.partition(":")
            if kind == "word" and of == held:
                known[word_key(word)] = answer
        missing = notebook_words().marks["missing"]
        cells = [cell for cell in cells if plain(cell).casefold() not in missing]
        found, unknown = words_of(held, cells, known)
        column = fields()[held]
        choices = column.words or tuple(
            f"{defect}@{stage}" for defect, stages in defect_stages().items() for stage in stages
        )
        for word in unknown[:MOST_WORDS]:
            self._ask(
                f"word:{held}:{word}",
                WORD.format(name=name, word=word),
                (*choices, LEAVE),
                signs.OPEN,
            )
        return found

    def _in_rows(self, columns: Mapping[str, str]) -> Layout:
        """Return what shows in the rows: a date for several plates, two plates in a cell."""
        layout = Layout(self.head_row, self.head_rows, self.count)
        if any(needed not in columns for needed in REQUIRED):
            return layout
        at = {name: i for i, name in enumerate(self.sheet.head)}
        plates = [row[at[columns["plate"]]] for _, row in self.sheet.rows]
        days = [row[at[columns["date"]]] for _, row in self.sheet.rows]
        repeat: tuple[str, ...] = ()
        if days[0] is not None and None in days:
            repeat = (columns["date"],)
        texts = [plate for plate in plates if isinstance(plate, str)]
        parting = notebook_words().marks["dividers"]
        divider = next((sign for sign in parting if any(sign in text for text in texts)), "")
        return replace(layout, divider=divider, lead=columns["plate"], repeat=repeat)

    def _hours(self, mapping: PlateMapping) -> Mapping[str, str]:
        """Return the offsets of times that the clocks left out or had twice, as answered."""
        given = {
            key.partition(":")[2]: answer
            for key, answer in self.answers.items()
            if key.startswith("hour:")
        }
        if not any(fields()[one].kind == "time" for one in mapping.fields):
            return given
        if any(name not in mapping.fields for name in REQUIRED):
            return given
        zone = ZoneInfo(self.zone)
        read = plates_from(self.sheet, replace(mapping, hours=given), time_zone=self.zone)
        for problem in read.problems:
            try:
                moment = datetime.strptime(problem.what[:16], "%Y-%m-%d %H:%M")  # noqa: DTZ007
            except ValueError:
                continue
            for sentence, text in ((SKIPPED, SKIPPED_HOUR), (TWICE, TWICE_HOUR)):
                key = f"hour:{moment:%Y-%m-%dT%H:%M}"
                if problem.what == sentence.format(moment=moment, key=zone.key) and all(
                    key != one.key for one in self.questions
                ):
                    shown = f"{moment:%Y-%m-%d %H:%M}"
                    choices = (*offsets_of(moment, zone), LEAVE)
                    self._ask(key, text.format(moment=shown), choices, signs.OPEN)
        return given
