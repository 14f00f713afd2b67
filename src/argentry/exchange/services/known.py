"""The weather services that can be asked, by the names of the studio file."""

from __future__ import annotations

from collections.abc import Mapping

from argentry.exchange.services import bright_sky, met_norway, open_meteo
from argentry.exchange.services.asking import Service

SERVICES: Mapping[str, Service] = {
    one.key: one
    for one in (
        open_meteo.SERVICE,
        open_meteo.ENSEMBLE,
        met_norway.SERVICE,
        bright_sky.SERVICE,
    )
}
