"""A season on paper: a page for each place, the map on top, by typst."""

from __future__ import annotations

import json

from argentry.errors import BadInput
from argentry.out.season.chart import season_map
from argentry.out.season.words import (
    best_lines,
    compared,
    month_rows,
    notes_of,
    place_head,
    week_rows,
)
from argentry.out.typeset import pdf
from argentry.records.answers.season import Season, SeasonPlace

TITLE = "Season of {studio}"
# Width of the type on each paper: the drawing is made for it. [px, 0.75 pt]
PAPERS = {"a4": 718.0, "us-letter": 740.0}


def season_pdf(season: Season, paper: str = "a4") -> bytes:
    """Return a season as a PDF/A-2b file with its fonts inside.

    Parameters
    ----------
    season : Season
        At one or more places.
    paper : str
        ``"a4"`` or ``"us-letter"``.
    """
    if paper not in PAPERS:
        raise BadInput(
            "paper",
            "{paper!r} is not a paper",
            "use one of {papers}",
            paper=paper,
            papers=", ".join(PAPERS),
        )
    heads, rows = compared(season)
    data = {
        "title": TITLE.format(studio=season.studio),
        "studio": season.studio,
        "paper": paper,
        "invented": season.invented,
        "made": {part: getattr(season.first, part) for part in ("year", "month", "day")},
        "compared": {"heads": heads, "rows": rows} if len(season.places) > 1 else None,
        "places": [_place(season, place, PAPERS[paper]) for place in season.places],
        "notes": season.notes,
    }
    return pdf("season.typ", {"data": json.dumps(data)})


def _place(season: Season, place: SeasonPlace, width: float) -> dict[str, object]:
    months, weeks = month_rows(place), week_rows(place)
    return {
        "head": place_head(season, place),
        "map": season_map(place, width),
        "best": best_lines(place),
        "months": {"heads": months[0], "rows": months[1]},
        "weeks": {"heads": weeks[0], "rows": weeks[1]},
        "notes": notes_of(place),
    }
