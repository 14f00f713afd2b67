"""`argentry weather`: agree to a weather service, fetch from it, show what is kept."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from argentry.cli.common import (
    console,
    emit_json,
    emitted,
    json_option,
    read_date,
    studio_needed,
    studio_option,
    studio_path,
)
from argentry.errors import BadInput
from argentry.keeping.studio import load_studio
from argentry.records.studio import NO_SERVICE

if TYPE_CHECKING:
    from pathlib import Path

    from argentry.keeping.forecast.states import ServiceState
    from argentry.records.studio import Studio

COMPARED = ("Forecast", "Age", "Of a clear day's light", "Enough light for one plate")
USED_ROW, DUE_ROW = "{title} (used)", "{age} (newer one due)"
WHICH = "Weather by itself from"
MAY = "May argentry ask {title} for the weather at this place?"
YES_NEEDED = "nobody is here to say yes"
SAY_YES = "read what is sent (above) and add --yes"
AGREED = (
    "Written into studio.toml. Forecasts come from {title} from now on; one is asked for when a "
    "day is planned."
)
TAKEN_BACK = (
    "Written into studio.toml. No weather service is asked any more; what is kept stays in the "
    "folder weather."
)
NOT_AGREED = "Nothing was written, nothing was sent."
ASK_CONTACT = "Your e-mail or web address, which {title} is told"
STILL = "The kept forecast holds until {time} UTC; nothing was sent."
NEW = "Fetched."
HOLDS = "{w.from_utc} to {w.to_utc}, every {w.step_minutes:g} min: {known}"
HEAD = "{t.title} ({t.service}): {stands}"
NO_FORECAST = "no forecast kept"
STATE = "fetched {fetched:%Y-%m-%d %H:%M} UTC, {age} old, {fresh}"
FRESH, DUE = "fresh until {time:%H:%M} UTC", "a newer one is due"
USED, ALSO, NOT_YET = "used for plans", "agreed", "not agreed: nothing is sent"


@click.group()
def weather() -> None:
    """Weather by itself: agree to a service, fetch a forecast, show what is kept."""


@weather.command()
@click.argument("service", metavar="SERVICE")
@click.option("--contact", help="E-mail or web address for met-norway, which must be told one.")
@click.option("--yes", is_flag=True, help="Agree without being asked.")
@studio_option
@json_option
@click.pass_context
def agree(ctx: click.Context, service: str, contact: str | None, yes: bool, as_json: bool) -> None:
    """Agree that SERVICE is sent the place: open-meteo(-ensemble), met-norway, bright-sky.

    The word none in its place takes it back: then no service is asked.
    """
    from argentry.keeping.forecast import consent
    from argentry.keeping.forecast.states import service_states

    path = studio_needed("argentry weather", studio_path(ctx))
    studio = load_studio(path)
    if service != NO_SERVICE:
        agreed_to(studio, service, yes=yes)
        if contact is None and not as_json:
            contact = _contact(studio, service)
    studio = consent.agree(path, service, contact)
    if as_json:
        emit_json(service_states(path, studio))
    elif service == NO_SERVICE:
        click.echo(TAKEN_BACK)
    else:
        click.echo(AGREED.format(title=consent.terms_of(studio, service).title))


@weather.command()
@click.argument("service", metavar="[SERVICE]", required=False)
@studio_option
@json_option
@click.pass_context
def fetch(ctx: click.Context, service: str | None, as_json: bool) -> None:
    """Fetch the forecast now, unless the kept one still holds."""
    from argentry.keeping.forecast import consent
    from argentry.keeping.forecast.states import fetch_now

    path = studio_needed("argentry weather", studio_path(ctx))
    studio = load_studio(path)
    wanted = service or studio.weather.source
    if wanted != NO_SERVICE and not consent.terms_of(studio, wanted).agreed and _is_asked():
        agreed_to(studio, wanted, yes=False)
        studio = consent.agree(path, wanted, _contact(studio, wanted))
    found = fetch_now(path, studio, service)
    if emitted(found, as_json):
        return
    until = found.service.fresh_until
    assert until is not None
    click.echo(NEW if found.asked else STILL.format(time=f"{until:%Y-%m-%d %H:%M}"))
    _show([found.service])


@weather.command()
@studio_option
@json_option
@click.pass_context
def show(ctx: click.Context, as_json: bool) -> None:
    """Show each service: whether you agreed, what is kept, how old it is. Nothing is sent."""
    from argentry.keeping.forecast.states import service_states

    path = studio_needed("argentry weather", studio_path(ctx))
    found = service_states(path, load_studio(path))
    if not emitted(found, as_json):
        _show(list(found.services))


@weather.command()
@click.argument("day", metavar="[DATE]", default="tomorrow")
@studio_option
@json_option
@click.pass_context
def compare(ctx: click.Context, /, day: str, as_json: bool) -> None:
    """Compare the kept forecasts of DATE: light, and odds of one plate. Nothing is sent."""
    from argentry.desk.forecasts import SIMULATED
    from argentry.desk.forecasts import compare as compared
    from argentry.needs.doubt.percent import percent

    path = studio_needed("argentry weather", studio_path(ctx))
    studio = load_studio(path)
    found = compared(path, studio, read_date("DATE", day, studio.site.time_zone))
    if emitted(found, as_json):
        return
    from rich import box
    from rich.table import Table
    from rich.text import Text

    screen = console()
    table = Table(*COMPARED, box=box.SIMPLE)
    for row in found.forecasts:
        share = "–" if row.clear_light_share is None else f"{100 * row.clear_light_share:.0f} %"
        odds = row.why_not if row.light_odds is None else percent(row.light_odds, SIMULATED)
        name = USED_ROW.format(title=row.title) if row.service == found.used else row.title
        due = row.age and not row.fresh
        table.add_row(name, DUE_ROW.format(age=row.age) if due else row.age, share, odds)
    screen.print(table)
    for line in found.said:
        screen.print(Text(f"! {line}", style="bold red"))
    for row in found.forecasts:
        if row.record_words:
            screen.print(Text(row.record_words))
        if row.credit and not row.why_not:
            screen.print(Text(row.credit, style="dim"))


def ask_for_weather(folder: Path) -> None:
    """Ask the maker of a new studio which service may be asked, if any; nobody there means none."""
    from argentry.keeping.forecast import consent

    if not _is_asked():
        return
    known = click.Choice([*consent.known(), NO_SERVICE])
    service: str = click.prompt(WHICH, type=known, default=NO_SERVICE, err=True)
    if service == NO_SERVICE:
        return
    studio = load_studio(folder)
    agreed_to(studio, service, yes=False)
    consent.agree(folder, service, _contact(studio, service))
    click.echo(AGREED.format(title=consent.terms_of(studio, service).title))


def agreed_to(studio: Studio, service: str, *, yes: bool) -> None:
    """Show what a service is sent and on which terms; return when the maker says yes.

    Raises
    ------
    BadInput
        If nobody is there to say yes.
    """
    from argentry.keeping.forecast.consent import terms_of

    terms = terms_of(studio, service)
    click.echo(terms.sends, err=True)
    if yes:
        return
    if not _is_asked():
        raise BadInput("weather agree", YES_NEEDED, SAY_YES)
    if not click.confirm(MAY.format(title=terms.title), err=True):
        click.echo(NOT_AGREED, err=True)
        raise click.exceptions.Exit(1)


def _contact(studio: Studio, service: str) -> str | None:
    """Ask for the contact that a service must be told."""
    from argentry.keeping.forecast.consent import terms_of

    terms = terms_of(studio, service)
    if not terms.contact_needed or studio.weather.contact or not _is_asked():
        return None
    told: str = click.prompt(ASK_CONTACT.format(title=terms.title), err=True)
    return told


def _is_asked() -> bool:
    return sys.stdin.isatty()


def _show(states: list[ServiceState]) -> None:
    from rich.text import Text

    screen = console()
    for state in states:
        terms = state.terms
        worse = state.record is not None and state.record.worse
        stands = USED if state.used and not worse else ALSO if terms.agreed else NOT_YET
        screen.print(Text(HEAD.format(t=terms, stands=stands), style="bold"))
        for line in _lines(state):
            screen.print(Text(f"  {line}"))
        if state.record_words:
            screen.print(Text(f"  {state.record_words}"))
        if state.trouble:
            screen.print(Text(f"  ! {state.trouble}", style="bold red"))


def _lines(state: ServiceState) -> list[str]:
    if state.holds is None or state.fetched is None or state.fresh_until is None:
        return [NO_FORECAST]
    fresh = FRESH.format(time=state.fresh_until) if state.fresh else DUE
    known = ", ".join(state.holds.known)
    return [
        STATE.format(fetched=state.fetched, age=state.age, fresh=fresh),
        HOLDS.format(w=state.holds, known=known),
        state.credit,
    ]
