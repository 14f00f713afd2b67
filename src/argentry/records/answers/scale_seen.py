"""The answer of ``argentry judge scale``: a plate fumed in bands, as a table of colours."""

from __future__ import annotations

from dataclasses import dataclass

from argentry.records.answers.seen import PhoneOfPicture, PictureSeen


@dataclass(frozen=True)
class ScaleBand:
    """One band.

    Attributes
    ----------
    thickness_nm : float
        Of its coat. [nm]
    red, green, blue : float
        Linear, over those of bare silver in the same picture. [1]
    """

    thickness_nm: float
    red: float
    green: float
    blue: float


@dataclass(frozen=True)
class ScaleSeen(PictureSeen):
    """What a picture of a plate fumed in bands says.

    Attributes
    ----------
    bands : tuple of ScaleBand
        By rising thickness; empty when none could be read.
    phone : PhoneOfPicture or None
        The camera, whose coats alone are read by it.
    light : str or None
        The light, the same; null when it was not named.
    """

    bands: tuple[ScaleBand, ...] = ()
    phone: PhoneOfPicture | None = None
    light: str | None = None
