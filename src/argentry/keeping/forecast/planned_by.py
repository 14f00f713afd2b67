"""What a day is planned by: a file, the forecast of a service, or the clouds of its season."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from argentry.errors import BadInput
from argentry.keeping.forecast.no_forecast import climate_outlook
from argentry.records.studio import NO_SERVICE
from argentry.records.weather import Outlook

if TYPE_CHECKING:
    from datetime import date, datetime

    from argentry.records.studio import Studio


def outlook_for(
    folder: Path,
    studio: Studio,
    day: date,
    weather: str | None,
    mapping: str | None = None,
    now: datetime | None = None,
) -> Outlook:
    """Return what a day is planned by: the file named, none, or a service's forecast.

    Parameters
    ----------
    folder, studio, day
        As in `argentry.keeping.forecast.outlook.outlook_of`.
    weather : str or None
        Name of a weather file; ``none``: no service either; None: as the studio has it.
    mapping : str or None
        Name of a file that explains its columns.
    now : datetime or None
        The moment; None: now.

    Raises
    ------
    BadInput
        If the file cannot be read, or a mapping has no file to map.
    """
    from argentry.keeping.weather import read_weather

    if weather is not None and weather != NO_SERVICE:
        return Outlook(read_weather(Path(weather), None if mapping is None else Path(mapping)))
    if mapping is not None:
        raise BadInput("--mapping", "there is no weather file to map", "name it with --weather")
    if NO_SERVICE in (weather, studio.weather.source):
        return climate_outlook(folder, studio, day, wanted=False)
    # heavy: the services and their answers
    from argentry.keeping.forecast.outlook import outlook_of

    return outlook_of(folder, studio, day, now)
