"""What the keeper takes where nothing is said: one process, a step wedge of half stops."""

from tests.defaults import beyond_nothing, modules_of

from argentry import keeping

TAKEN = {
    "book.studio_book.quick": True,
    "forecast.fetch.fetch.seconds": 10.0,
    "forecast.no_forecast.climate_outlook.wanted": True,
    "plates.pictures.place_for.most": 100_000_000,
    "seeing.many.survey.processes": 1,
    "seeing.wedge.AskedWedge.steps": 21,
    "seeing.wedge.AskedWedge.increment": 0.15,
    "sensors.devices.ShutOut.revoked": True,
}


def test_what_is_taken_where_nothing_is_said():
    assert modules_of(keeping)
    assert beyond_nothing(keeping) == TAKEN
