"""A year of light at 10-minute steps against pvlib's spectral model on the whole array."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from time import perf_counter

import numpy as np

LATITUDE, LONGITUDE, HEIGHT_M = 50.0, 8.0, 100.0
RUNS = 5


def year() -> np.ndarray:
    return np.datetime64("2026-01-01T00:00", "m") + np.arange(52_560) * np.timedelta64(10, "m")


def both_bands():
    from argentry.physics.lights import bands

    # The violet correction is off: pvlib does not have it.
    return bands.exposure_band(violet_correction=False), bands.development_band(590.0)


def ours(times):
    """Sun, beam and diffuse light in both bands."""
    from argentry.physics.lights import sky, sun
    from argentry.physics.room.air import pressure_at_elevation_pa

    air = sky.Atmosphere(float(pressure_at_elevation_pa(HEIGHT_M)))
    path = sun.sun_path(times, LATITUDE, LONGITUDE, HEIGHT_M)
    lights = [sky.clear_sky(path.elevation_deg, path.distance_factor, b, air) for b in both_bands()]
    sums = [a for s in lights for a in (s.beam_normal_w_m2, s.diffuse_horizontal_w_m2)]
    return path.elevation_deg, np.array(sums)


def theirs(times):
    """The same from pvlib: its sun, its spectra of every step, the same band sums."""
    import pandas as pd
    import pvlib

    from argentry import trade
    from argentry.physics.lights import bands, sky
    from argentry.physics.room.air import pressure_at_elevation_pa

    index = pd.DatetimeIndex(times, tz="UTC")
    air = sky.Atmosphere(float(pressure_at_elevation_pa(HEIGHT_M)))
    sun = pvlib.solarposition.get_solarposition(
        index, LATITUDE, LONGITUDE, HEIGHT_M, pressure=air.pressure_pa
    )
    zenith = sun["apparent_zenith"].to_numpy()
    spectrum = pvlib.spectrum.spectrl2(
        apparent_zenith=zenith,
        aoi=zenith,
        surface_tilt=0,
        ground_albedo=air.albedo,
        surface_pressure=air.pressure_pa,
        relative_airmass=pvlib.atmosphere.get_relative_airmass(zenith, "kastenyoung1989"),
        precipitable_water=trade.value("light", "precipitable_water"),
        ozone=trade.value("light", "ozone"),
        aerosol_turbidity_500nm=air.aod500,
        dayofyear=index.day_of_year.to_numpy(),
    )
    weights = [bands.band_weights(b, spectrum["wavelength"]) for b in both_bands()]
    sums = [w @ spectrum[part] for w in weights for part in ("dni", "dhi")]
    return 90.0 - zenith, np.array(sums)


def forget() -> None:
    """Drop everything kept between calls, the table's file included."""
    from argentry import trade
    from argentry.physics.lights import bands, sky

    trade.arrays.cache_clear()
    for kept in (sky._spectra, sky._laid_out, sky._heights, sky._twilight, bands.exposure_band):  # noqa: SLF001
        kept.cache_clear()
    bands.development_band.cache_clear()


def best(call, times, *, runs: int, fresh: bool = False) -> float:
    seconds = []
    for _ in range(runs):
        if fresh:
            forget()
        start = perf_counter()
        call(times)
        seconds.append(perf_counter() - start)
    return min(seconds)


def peak_mb(what: str) -> float:
    """Peak memory of one whole process that does it once."""
    out = subprocess.run(
        [sys.executable, "-m", "benchmarks.light", what], check=True, capture_output=True, text=True
    )
    return float(json.loads(out.stdout)["peak_mb"])


def run() -> list[tuple[str, str]]:
    times = year()
    reference_elevation, reference = theirs(times)
    elevation, mine = ours(times)
    up = (reference_elevation > 5.0) & (elevation > 5.0)
    # The spectral model's night is NaN; only daylight is compared.
    apart = np.abs(mine[:, up] / reference[:, up] - 1.0).max(axis=1)
    slow = best(theirs, times, runs=2)
    first = best(ours, times, runs=RUNS, fresh=True)
    again = best(ours, times, runs=RUNS)
    names = ("exposure beam", "exposure diffuse", "development beam", "development diffuse")
    return [
        (
            "a year at 10-minute steps, two bands with the sun's position: pvlib's spectral model",
            f"{slow:.2f} s",
        ),
        (
            "  ours, nothing kept beforehand (table read and laid out)",
            f"{1e3 * first:.1f} ms, {slow / first:.0f} times faster (wanted: 100)",
        ),
        ("  ours, asked again", f"{1e3 * again:.1f} ms, {slow / again:.0f} times faster"),
        (
            "  largest difference, sun above 5 degrees, violet correction off",
            ", ".join(f"{n} {100 * a:.2f} %" for n, a in zip(names, apart, strict=True))
            + " (wanted: 1 %)",
        ),
        ("  peak memory, ours", f"{peak_mb('ours'):.0f} MB (wanted: under 500)"),
        ("  peak memory, pvlib's", f"{peak_mb('theirs'):.0f} MB"),
    ]


if __name__ == "__main__":
    if len(sys.argv) > 1:
        {"ours": ours, "theirs": theirs}[sys.argv[1]](year())
        # Of this process alone; the figure of getrusage is handed down by the parent at start.
        status = Path("/proc/self/status").read_text()
        peak_kb = next(line.split()[1] for line in status.splitlines() if line.startswith("VmHWM"))
        print(json.dumps({"peak_mb": int(peak_kb) / 1024}))
    else:
        for row in run():
            print(*row, sep=": ")
