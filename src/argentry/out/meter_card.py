"""A light meter's corrections in words, and as a card to cut out, by typst."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from argentry.out.typeset import pdf

if TYPE_CHECKING:
    from datetime import datetime

    from argentry.records.answers.meter import MeterStory

THIRDS = {0: "", 1: "⅓", 2: "⅔"}
TITLE = "{meter}: stops to add"
LEAD = (
    "The meter sees light {sees}; the plate sees violet, and the red filter passes red. Hold the "
    "meter in the light of the subject, facing as it does, and add these stops to what it says: + "
    "is more exposure, − is less."
)
AS_EYE, BY_SPECTRUM = "as the eye does", "by its spectrum ({spectrum})"
AGREES = (
    "0 is facing a clear sun {height:.0f}° high: state your plate's speed for this light, read by "
    "this meter. A red frame faces the sun."
)
ROUGH = "Under {height:.0f}° of sun the light is known only roughly; haze takes more violet still."
SUN_CAUTION = "Never look at the sun: read its height from the shadow of a stick."
HEADS = (
    "sun",
    "shadow of 1 m",
    "here on {day}",
    "in sun",
    "in shade",
    "overcast",
    "red frame",
)
HERE = "{latitude:.2f}, {longitude:.2f}"
ALL_DAY_UNDER = "not so high"


@dataclass(frozen=True)
class CardRow:
    """One row of the card in words.

    Attributes
    ----------
    sun, shadow, times : str
        Height of the sun, shadow of a stick, and when the sun stands so high.
    in_sun, shade, overcast, frame : str
        Stops to add, in thirds.
    """

    sun: str
    shadow: str
    times: str
    in_sun: str
    shade: str
    overcast: str
    frame: str


def thirds(stops: float) -> str:
    """Return stops in thirds, as they are written on a meter.

    >>> [thirds(x) for x in (0.1, 0.35, -0.65, 1.24, -1.6, 3.0)]
    ['0', '+⅓', '−⅔', '+1⅓', '−1⅔', '+3']
    """
    count = round(3.0 * stops)
    if count == 0:
        return "0"
    whole, part = divmod(abs(count), 3)
    return f"{'+' if count > 0 else '−'}{whole or ''}{THIRDS[part]}"


def meter_name(story: MeterStory) -> str:
    """Return the meter's name with a capital."""
    return f"{story.meter[0].upper()}{story.meter[1:]}"


def place_words(story: MeterStory) -> str:
    """Return the studio's place, or where it is when it was named by numbers alone."""
    if "--" not in story.place:
        return story.place
    return HERE.format(latitude=story.latitude_deg, longitude=story.longitude_deg)


def card_rows(story: MeterStory) -> tuple[CardRow, ...]:
    """Return the rows of the card, from high sun to low."""
    return tuple(
        CardRow(
            f"{row.elevation_deg:.0f}°",
            f"{row.shadow_m:.1f} m",
            _times(row.morning, row.evening),
            thirds(row.sun_stops),
            thirds(row.shade_stops),
            thirds(row.overcast_stops),
            thirds(row.development_stops),
        )
        for row in story.card
    )


def card_heads(story: MeterStory) -> tuple[str, ...]:
    """Return the heads of the card's columns."""
    return tuple(head.format(day=f"{story.date.day} {story.date:%b}") for head in HEADS)


def card_lead(story: MeterStory) -> str:
    """Return how the card is used, in one paragraph."""
    eye = "eye" in story.spectrum
    sees = AS_EYE if eye else BY_SPECTRUM.format(spectrum=story.spectrum)
    return LEAD.format(sees=sees)


def card_foot(story: MeterStory) -> tuple[str, ...]:
    """Return what else a maker must know of the card."""
    return (
        AGREES.format(height=story.agrees_at_deg),
        ROUGH.format(height=story.rough_below_deg),
        SUN_CAUTION,
    )


def meter_pdf(story: MeterStory) -> bytes:
    """Return the card as a PDF on A6 paper, to cut out and stick to the meter.

    Returns
    -------
    bytes
        A PDF/A-2b file with its fonts inside.
    """
    data = {
        "title": TITLE.format(meter=meter_name(story)),
        "place": place_words(story),
        "invented": story.invented,
        "made": {"year": story.date.year, "month": story.date.month, "day": story.date.day},
        "lead": card_lead(story),
        "heads": card_heads(story),
        "rows": [list(vars(row).values()) for row in card_rows(story)],
        "foot": card_foot(story),
    }
    return pdf("meter.typ", {"data": json.dumps(data)})


def _times(morning: datetime | None, evening: datetime | None) -> str:
    if morning is None or evening is None:
        return ALL_DAY_UNDER
    return f"{morning:%H:%M}, {evening:%H:%M}"
