"""`argentry bench`: a live run in the terminal, one key to each thing a hand does."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import click

from argentry.bench.questions import Form, choices
from argentry.bench.words import offer_lines
from argentry.cli.bench.bench_beside import Beside
from argentry.cli.bench.bench_keys import (
    ENTER,
    ESCAPE,
    LEFT_INPUT,
    RUB_OUT,
    is_terminal,
    keys,
    single_keys,
)
from argentry.cli.bench.hand import Hand
from argentry.cli.common import (
    book_option,
    console,
    emit_json,
    json_option,
    read_date,
    say,
    say_clock,
    studio_needed,
    studio_option,
    studio_path,
    used_with,
)
from argentry.cli.planning.day import wish_options
from argentry.desk.bench import acts
from argentry.desk.bench.acts import advice, look_json, look_with_air
from argentry.desk.bench.seat import Seat, take_seat
from argentry.desk.numbers.studio_numbers import taught_studio
from argentry.desk.wishes import OPTIONS, read_wishes
from argentry.errors import BadInput
from argentry.keeping.book import studio_book
from argentry.keeping.house_clock import clock_for, compare
from argentry.keeping.studio import load_studio
from argentry.out.bench_screen import CHOICE_KEYS, full_height, look_of, plain_lines, screen
from argentry.records.studio import Studio
from argentry.records.weather import NO_OUTLOOK, Outlook

TICK_S = 0.5
# words of a piped line: what a key does
WORDS = {
    "go": " ", "space": " ", "undo": "u", "pause": "p", "next": "n", "skip": "s", "give-up": "x",
    "back": "b", "right": " ", "doubtful": "2", "wrong": "3", "grade": "g", "quit": "q",
    "leave": "q", "yes": "y", "no": "-", "take": "t", "keep": "k",
    "range": "w", "one-more": "o",
}  # fmt: skip
SAID = {"reading": "r", "remark": "m", "back": "b"}  # words that are told more
ASKED = {
    "r": "reading (name, number, unit): ",
    "m": "remark: ",
    "b": "do again from (step; nothing: as advised, or the last one): ",
}
UNKNOWN = "{word!r} is not a command of the bench; see argentry bench --help."
NOTHING_NEW = "The plan stands: nothing in it changes that is worth a word."
TAKE_IT = "It waits for an answer: --replan --take takes it, and so do t at the bench and the page."
TAKEN = "Taken: it stands from now on."
GOES_ON = "Run {run} goes on: argentry bench --run {run}"


@click.command()
@click.option("--run", metavar="ID", help="A run, by the first letters of its id.")
@click.option("--plates", metavar="A,B", help="Open a new run with these plates.")
@click.option("--date", "day", metavar="DATE", help="Plan this day for the new run.")
@click.option("--weather", metavar="FILE", help="Forecast for the plan.")
@wish_options
@click.option("--title", help="Name of the new run.")
@click.option("--replan", is_flag=True, help="Make a new plan of the run, say what changes, leave.")
@click.option("--take", is_flag=True, help="With --replan: take the new plan.")
@click.option("--device", default="terminal", show_default=True, help="Who sits here.")
@click.option(
    "--daylight", is_flag=True, help="The terminal's own colours instead of red on black."
)
@book_option
@studio_option
@json_option
@click.pass_context
def bench(
    ctx: click.Context,
    /,
    run: str | None,
    plates: str | None,
    day: str | None,
    weather: str | None,
    title: str | None,
    replan: bool,
    take: bool,
    device: str,
    daylight: bool,
    address: str | None,
    as_json: bool,
    **wished: Any,
) -> None:
    """Run plates at the bench: the last open run, one named, or a new one.

    Keys: space goes on (read, begin, end, right), 2 doubtful, 3 wrong, u takes back, p stops the
    clock, n next plate, r reading, m remark, s skips a step, b does a step again, x gives a plate
    up, g grades a finished plate, w tells what the range of the time is made of, t takes a new
    plan, k keeps the old one, o takes one more plate, q leaves. Questions
    about a plate are answered by the key in front of each answer. From a pipe each line is one key,
    its word (go, undo, pause, next, right, doubtful, wrong, skip, back, grade, give-up, range,
    take, keep, one-more, quit), an answer (lost, development, fog), or "reading box 14", "remark
    ...", "back STEP". --replan makes a new plan from where the plates stand, which --take takes.
    Hours, hands, sitters and the other wishes are for the day of --date. --json prints the run and
    leaves.
    """
    path = studio_needed("argentry bench", studio_path(ctx))
    if run is not None and (plates is not None or day is not None):
        raise BadInput("--run", "a new run is asked for as well", "give --run or --plates")
    if take and not replan:
        raise BadInput("--take", "no new plan is asked for", "give --replan as well")
    used_with({"title": ("plates", "day"), "weather": ("day",)})
    wishes = read_wishes(wished)
    if day is None and any(wished.values()):
        option = next(OPTIONS[name] for name, value in wished.items() if value)
        raise BadInput(option, "no day is planned that it could be for", "give --date as well")
    studio = load_studio(path)
    date = None if day is None else read_date("--date", day, studio.site.time_zone)
    outlook, forecast = _weather(path, studio, date, weather, address)
    with studio_book(path, address) as book:
        say_clock(compare(clock_for(book), ZoneInfo(studio.site.time_zone)))
        seat = take_seat(
            book,
            taught_studio(book, studio),
            run=run,
            labels=None if plates is None else [p for p in plates.split(",") if p.strip()],
            day=date,
            wishes=wishes,
            outlook=outlook,
            forecast=forecast,
            title=title,
            device=device,
        )
        said = _replanned(seat, studio, path, take=take) if replan else []
        if as_json:
            emit_json(look_json(seat))
        elif replan:
            click.echo("\n".join(said))
        elif is_terminal():
            beside = Beside(seat, path, address)
            try:
                _at_screen(seat, beside, daylight=daylight)
            finally:
                beside.close()
        else:
            _from_pipe(seat)


def _weather(
    path: Path, studio: Studio, day: date | None, weather: str | None, address: str | None
) -> tuple[Outlook, Path | None]:
    """Return the weather of a new run, and the file it comes from."""
    from argentry.desk.bench.as_read import outlook_read
    from argentry.keeping.forecast.outlook import kept_path

    if day is None:
        return NO_OUTLOOK, None
    outlook = outlook_read(path, studio, day, weather, address=address)
    for line in outlook.said:
        click.echo(f"! {line}", err=True)
    file = None if weather is None or outlook.weather is None else Path(weather)
    return outlook, file or kept_path(path, outlook)


def _replanned(seat: Seat, studio: Studio, path: Path, *, take: bool) -> list[str]:
    """Make a new plan of a run, offer it, perhaps take it; return what is to be said."""
    from argentry.desk.bench import replan

    body = replan.plan_body(seat.book, studio, path, seat.run, seat.clock.now())
    replan.say_plan(seat.book, path, seat.run, body, seat.clock)
    offer = acts.look(seat).offer
    if offer is None:
        return [NOTHING_NEW]
    why = acts.answer_offer(seat, take=True) if take else TAKE_IT
    return [*offer_lines(offer), why or TAKEN]


def asks_words(form: Form | None, key: str) -> bool:
    """Say whether a key wants words after it: a reading, a remark, a step to go back to."""
    if form is None:
        return key in ASKED
    return dict(zip(CHOICE_KEYS, choices(form), strict=False)).get(key, ("",))[0] == "remark"


def _at_screen(seat: Seat, beside: Beside, *, daylight: bool) -> None:
    from rich.live import Live

    hand = Hand(seat)
    terminal = console()
    colours = look_of(terminal, daylight=daylight)
    asking, typed = "", ""

    def drawn() -> Any:
        line = ASKED[asking] + typed if asking else None
        state = look_with_air(seat)
        shown = screen(
            state,
            hand.plate,
            colours,
            say=hand.say,
            typed=line,
            advice=advice(seat),
            form=hand.form,
        )
        return full_height(shown, colours, terminal.height)

    with (
        single_keys(),
        Live(drawn(), console=terminal, screen=True, auto_refresh=False) as live,
    ):
        for key in keys(TICK_S):
            if key == LEFT_INPUT:
                break
            if key is not None and asking:
                asking, typed = _typing(hand, asking, typed, key)
            elif key is not None and asks_words(hand.form, key):
                asking, typed = key if hand.form is None else "m", ""
            elif key is not None:
                hand.key(key)
            if hand.left:
                break
            beside.look()
            live.update(drawn(), refresh=True)
    click.echo(GOES_ON.format(run=seat.run[:18]))


def _typing(hand: Hand, asking: str, typed: str, key: str) -> tuple[str, str]:
    """Return what is still asked and typed after one more key."""
    if key == ESCAPE:
        return "", ""
    if key == ENTER:
        hand.asked(asking, typed.strip())
        return "", ""
    if key == RUB_OUT:
        return asking, typed[:-1]
    return asking, typed + (" " if key == "space" else key)


def _from_pipe(seat: Seat) -> None:
    hand = Hand(seat)
    click.echo(f"run {seat.run}")
    for line in plain_lines(look_with_air(seat), hand.plate, advice(seat), hand.form):
        say(line)
    for given in sys.stdin:
        text = given.rstrip("\n")
        word, _, rest = text.strip().partition(" ")
        if SAID.get(word, word) in ASKED and rest:
            hand.asked(SAID.get(word, word), rest.strip())
        elif hand.words(text.split()):
            pass
        elif word in WORDS or len(word) <= 1:
            hand.key(WORDS.get(word, word or " "))
        else:
            hand.say = UNKNOWN.format(word=word)
        if hand.say:
            say(hand.say)
        if hand.left:
            break
        for line in plain_lines(look_with_air(seat), hand.plate, advice(seat), hand.form):
            say(line)
