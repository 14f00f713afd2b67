"""Twelve books asked at every door: the same word and number everywhere, and no contradiction."""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path

import argentry
from argentry.desk.numbers.own_numbers import learned_numbers
from benchmarks.families import doors
from benchmarks.families.draw import draw_studio
from benchmarks.families.forms import FAMILIES

PAGE = Path(__file__).parents[1] / "docs" / "learning.md"
BEGIN, END = "<!-- begin: twelve books, by benchmarks.learn_books -->", "<!-- end: twelve books -->"
HEAD = (
    "| plates | good | chance of a good plate: `odds`, `learn show`, sheet and bench | `next` | "
    "`why` names | contradictions |"
)
SIZES = (12, 40, 90)
BOOKS = 12
SURE = 0.85


def books(count=BOOKS):
    """Yield so many books of other families and sizes."""
    families = list(FAMILIES)
    for number in range(count):
        plates = SIZES[number % len(SIZES)]
        yield draw_studio(families[number % len(families)], 40 + number, plates, 0)


def told_of(studio):
    """Return what each door says of one book."""
    book = doors.open_notebook(studio)
    # the plate asked about is not begun: it is no making yet
    blank = book.plate(doors.ASKED)
    book = replace(book, makings=tuple(one for one in book.makings if one.plate != blank))
    failed = [m.label for m in studio.made if m.row["grade"] == "lost"]
    return {
        "plates": len(studio.made),
        "odds": doors.odds(book, {}),
        "learned": doors.learned(book),
        "sheet": learned_numbers(book).good.one,
        "next": doors.next_plate(book),
        "why": doors.causes(book),
        "plate": doors.why(book, failed[-1]) if failed else None,
        "finished": argentry.odds(book, failed[-1]) if failed else None,
    }


def contradictions(told):
    """Return what one door says against another."""
    out = []
    odds, learned, sheet = (told[key] for key in ("odds", "learned", "sheet"))
    said = {
        (round(one.probability, 9), round(one.low, 9), round(one.high, 9))
        for one in (odds, learned.odds, sheet)
    }
    if len(said) > 1:
        out.append("odds differ")
    if odds.reason != learned.odds.reason:
        out.append("reasons differ")
    change, why = told["next"], told["why"]
    if not change.change and round(change.chance, 9) != round(odds.probability, 9):
        out.append("next gives other odds")
    named = [one for one in why.causes if one.named]
    if named and not why.enough_plates:
        out.append("a cause is named of too few plates")
    rows = [one.share * one.probability for one in why.causes]
    if rows != sorted(rows, reverse=True):
        out.append("causes are out of order")
    if why.plates != learned.plates or why.plates != odds.running.plates:
        out.append("counts differ")
    plate, finished = told["plate"], told["finished"]
    sure = plate is not None and any(one.probability > SURE for one in plate.causes)
    if sure and "to tell" in plate.words:
        out.append("sure of a cause, and not enough plates to tell")
    if finished is not None and (finished.options or not finished.looked_back):
        out.append("a finished plate is advised")
    return out


def row(told):
    named = [one.title for one in told["why"].causes if one.named]
    change = told["next"]
    odds = told["odds"]
    share = f"{odds.probability:.0%} ({odds.low:.0%} to {odds.high:.0%})".replace("%", " %")
    return (
        f"| {told['plates']} | {told['learned'].good} | {share} | "
        f"{change.title if change.change else 'keep'} | {'; '.join(named) or 'none'} | "
        f"{'; '.join(contradictions(told)) or 'none'} |"
    )


def table(count=BOOKS):
    """Return the table in Markdown."""
    return "\n".join([HEAD, "|---|---|---|---|---|---|", *(row(told_of(b)) for b in books(count))])


def run():
    """Return (what, figure) for `python -m benchmarks`."""
    found = [contradictions(told_of(book)) for book in books()]
    yield f"{len(found)} books: contradictions between doors", f"{sum(map(len, found))}"


def main():
    parser = argparse.ArgumentParser(prog="python -m benchmarks.learn_books", description=__doc__)
    parser.add_argument("--write", action="store_true", help="put the table into docs/learning.md")
    made = table()
    print(made)
    if parser.parse_args().write:
        text = PAGE.read_text(encoding="utf-8")
        head, rest = text.split(BEGIN)
        PAGE.write_text(f"{head}{BEGIN}\n{made}\n{END}{rest.split(END)[1]}", encoding="utf-8")


if __name__ == "__main__":
    main()
