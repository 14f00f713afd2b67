"""``argentry light --meter``: what to write on the back of a light meter."""

from __future__ import annotations

from argentry.cli.common import console, table
from argentry.records.answers.meter import MeterStory

HEAD = "{meter} at {place} on {day}, facing the sun under a clear sky ({zone})."
HOUR_HEADS = ("time", "sun", "meter\nEV", "before the camera\nadd stops", "red frame\nadd stops")
NO_SUN = "The sun does not rise to 5° on that day; the card below holds wherever it does."
CARD = "[bold]To write on its back[/] (stops to add):"


def show_meter(story: MeterStory) -> None:
    """Print a meter's day and its card."""
    from argentry.out.meter_card import (
        card_foot,
        card_heads,
        card_lead,
        card_rows,
        meter_name,
        place_words,
    )

    out = console()
    out.print(
        HEAD.format(
            meter=meter_name(story), place=place_words(story), day=story.date, zone=story.time_zone
        )
    )
    if story.hours:
        rows = table(*HOUR_HEADS, right=HOUR_HEADS[1:], tight=True)
        for hour in story.hours:
            rows.add_row(
                f"{hour.time:%H:%M}",
                f"{hour.elevation_deg:.0f}°",
                f"{hour.reading_ev:.1f}",
                _tenths(hour.exposure_stops),
                _tenths(hour.development_stops),
            )
        out.print(rows)
    else:
        out.print(NO_SUN)
    out.print(CARD)
    heads = card_heads(story)
    card = table(*heads, right=heads, tight=True)
    for row in card_rows(story):
        card.add_row(*vars(row).values())
    out.print(card)
    out.print(card_lead(story))
    for words in card_foot(story):
        out.print(words)


def _tenths(stops: float) -> str:
    """Return stops with their sign; none for nothing."""
    rounded = round(stops, 1)
    return f"{rounded:+.1f}" if rounded else "0.0"
