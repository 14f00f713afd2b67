"""What a day is planned by that no forecast covers: the clouds of its season."""

from __future__ import annotations

from typing import TYPE_CHECKING

from argentry.records.weather import Outlook

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from argentry.records.studio import Studio


def climate_outlook(
    folder: Path, studio: Studio, day: date, *said: str, wanted: bool = True
) -> Outlook:
    """Return what a day is planned by that no forecast covers: the climate of its date there.

    Where studio.toml names no climate, that is the clouds usual there; where no forecast was wanted
    either, they are in the odds alone.

    Parameters
    ----------
    folder, studio, day
        As in `argentry.keeping.forecast.outlook.outlook_of`.
    *said : str
        Why there is no forecast.
    wanted : bool
        False where none was asked for.

    Raises
    ------
    BadInput
        If the climate file of studio.toml cannot be read.
    """
    from argentry.keeping.weather import climate_of_studio

    climate = climate_of_studio(folder, studio)
    if climate is None:
        return Outlook(None, said, usual=wanted)
    from argentry.sky.weather.years import weather_on

    return Outlook(weather_on(climate, day), said, usual=True)
