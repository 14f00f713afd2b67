"""The makers' word for a coat, from its thickness, and back.

Words and their order are common practice; the edges between them are computed turning points of
colour for a coat seen straight on (``trade/data/film.toml``, ``band``).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from argentry import trade
from argentry.errors import BadInput, check_range


@dataclass(frozen=True)
class Band:
    """One colour word with the thicknesses it covers.

    Attributes
    ----------
    word : str
        The word.
    cycle : int
        1, 2 or 3; 0 for bare silver.
    low_nm, high_nm : float
        From where to where. [nm]
    typical_nm : float
        Where the word is most itself. [nm]
    also : tuple of str
        Other words for it.
    """

    word: str
    cycle: int
    low_nm: float
    high_nm: float
    typical_nm: float
    also: tuple[str, ...]


@cache
def bands() -> tuple[Band, ...]:
    """Return every band from bare silver to the third orange, in order of thickness."""
    rows = trade.toml("film")["band"]
    edges = [row["from_nm"] for row in rows] + [trade.value("film", "thickness_high_nm")]
    return tuple(
        Band(row["word"], row["cycle"], low, high, row["typical_nm"], tuple(row["also"]))
        for row, (low, high) in zip(rows, pairwise(edges), strict=True)
    )


def band(thickness_nm: float) -> Band:
    """Return the band a thickness falls in.

    Parameters
    ----------
    thickness_nm : float
        0 to 250. [nm]

    Returns
    -------
    Band
        The band; an edge belongs to the thicker one.
    """
    high = trade.value("film", "thickness_high_nm")
    check_range("coat thickness", thickness_nm, 0, high, "nm")
    return [one for one in bands() if one.low_nm <= thickness_nm][-1]


def colour_word(thickness_nm: float) -> tuple[str, int]:
    """Return the makers' word for a coat seen straight on, and its cycle.

    Parameters
    ----------
    thickness_nm : float
        0 to 250. [nm]

    Examples
    --------
    >>> colour_word(25), colour_word(45), colour_word(120)
    (('gold', 1), ('blue', 1), ('gold', 2))
    """
    found = band(thickness_nm)
    return found.word, found.cycle


def band_for(word: str, cycle: int | None = None) -> Band:
    """Return the band of a colour word.

    Parameters
    ----------
    word : str
        The word, or another word makers use for it; case does not matter.
    cycle : int, optional
        Which passage through the colours; the earliest that has the word when not given.

    Raises
    ------
    BadInput
        If no coat has that word in that cycle.
    """
    asked = " ".join(word.lower().split())
    # In order of thickness, so that "yellow" alone is the first one, which is also called straw.
    known = [one for one in bands() if asked == one.word or asked in one.also]
    if not known:
        words = ", ".join(dict.fromkeys(one.word for one in bands()))
        raise BadInput(
            "colour",
            "{word!r} is not a known colour word",
            "use one of {words}",
            word=word,
            words=words,
        )
    fitting = known if cycle is None else [one for one in known if one.cycle == cycle]
    if not fitting:
        cycles = " or ".join(str(c) for c in dict.fromkeys(one.cycle for one in known))
        raise BadInput(
            "cycle",
            "{word} does not occur in cycle {cycle}",
            "give cycle {cycles}",
            word=word,
            cycle=cycle,
            cycles=cycles,
        )
    return fitting[0]


def thickness_for(word: str, cycle: int | None = None) -> float:
    """Return the typical thickness of a colour word.

    Parameters
    ----------
    word, cycle
        As in `band_for`.

    Returns
    -------
    float
        Thickness at which the word is most itself. [nm]

    Raises
    ------
    BadInput
        If no coat has that word in that cycle.

    Examples
    --------
    >>> thickness_for("rose"), thickness_for("rose", 2)
    (33.0, 144.0)
    """
    return band_for(word, cycle).typical_nm
