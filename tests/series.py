"""Light over time at a place, from the laws alone: for the tests of these laws."""

from argentry.physics.lights.light import light_bands, light_under
from argentry.physics.lights.sky import clear_skies
from argentry.physics.lights.sun import sun_path


def light_series(
    times_utc,
    *,
    latitude_deg,
    longitude_deg,
    elevation_m,
    atmosphere,
    bands=(None, None, None),
    **how,
):
    """Return exposure light, development light, GHI and lux over time."""
    path = sun_path(times_utc, latitude_deg, longitude_deg, elevation_m)
    asked = light_bands(*bands)
    clear = clear_skies(path.elevation_deg, path.distance_factor, asked, atmosphere)
    return light_under(times_utc, path, clear, asked, albedo=atmosphere.albedo, **how)
