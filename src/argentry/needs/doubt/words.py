"""What a range is made of, and what a measurement would take out of it, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from argentry.physics.stops import Z80

if TYPE_CHECKING:
    from argentry.records.answers.doubt import Doubt

MADE_OF = "The range is ± {whole:.1f} stops, made of {parts} (each alone, four cases in five)."
PART = "{cause} ± {stops:.1f}"
STRAYED = "Your own plates strayed {times:.1f} times as far as expected; these figures count that."
WOULD = "{by} would narrow it to ± {stops:.1f} stops"
LEAST, MOST = 0.1, 7  # stops below which a part is not told, and most parts told


def doubt_line(doubt: Doubt, *, first: bool = True) -> str:
    """Return the parts of a doubt, largest first, and what would narrow it.

    Parameters
    ----------
    doubt : Doubt
        Of fuming, an exposure or a development.
    first : bool
        False where words stand before it.
    """
    parts = ", ".join(
        PART.format(cause=part.cause, stops=Z80 * part.sigma_stops)
        for part in doubt.parts[:MOST]
        if Z80 * part.sigma_stops >= LEAST
    )
    told = MADE_OF.format(whole=Z80 * doubt.sigma_stops, parts=parts)
    ways = [
        WOULD.format(by=one.by, stops=Z80 * one.sigma_stops)
        for one in doubt.narrowed
        if Z80 * (doubt.sigma_stops - one.sigma_stops) >= LEAST / 2.0
    ]
    if not first:
        told = told[:1].lower() + told[1:]
    sentences = [told]
    if abs(doubt.scatter - 1.0) >= LEAST / 2.0:
        sentences.append(STRAYED.format(times=doubt.scatter))
    if ways:
        said = "; ".join(ways)
        sentences.append(f"{said[:1].upper()}{said[1:]}.")
    return " ".join(sentences)
