"""A filter, lens or pane of which a spectrum is known: the same light through every door."""

from dataclasses import replace
from datetime import date

import pytest
from tests.needs.light_fixture import STUDIO, utc

from argentry.day.plan import make_day
from argentry.errors import BadInput
from argentry.needs.camera import Camera
from argentry.needs.coat import coat_report
from argentry.needs.coat_view import look
from argentry.needs.develop import develop
from argentry.needs.expose import expose
from argentry.needs.frame import Frame
from argentry.needs.light import light_report
from argentry.needs.light_lengths import light_length
from argentry.physics.coat import colour
from argentry.physics.lights.bands import spectrum_at
from argentry.records.instruments import Lamp, Spectrum
from argentry.records.needs import StudioNow
from argentry.sky.place import resolve_place
from argentry.trade.spectra import spectrum_named

NOON = utc(6, 21, 12)
STRAW = "nm,transmission\n380,0.1\n450,0.3\n" + "".join(f"{nm},0.9\n" for nm in range(520, 781, 10))
RED, LENS, PANE = (
    "generic deep red long-pass 620 nm",
    "generic uncoated crown lens",
    "generic laminated pane",
)


def known(name, kind):
    return Spectrum(name, *spectrum_named("", name, kind, None))


def with_spectra():
    frame = replace(STUDIO.frames[0], spectrum=known(RED, "filter"))
    lens = replace(STUDIO.lenses[0], spectrum=known(LENS, "lens"))
    return replace(STUDIO, frames=(frame,), lenses=(lens,))


def test_development_by_the_studio_an_option_and_the_bench():
    studio = with_spectra()
    place = resolve_place(studio)
    of_studio = develop(place, NOON, Frame(), StudioNow(studio))
    by_option = develop(place, NOON, Frame(filter_spectrum=RED), StudioNow(STUDIO))
    assert of_studio.development_w_m2 == by_option.development_w_m2
    assert of_studio.minutes == by_option.minutes
    bench = light_length(studio, "development", NOON, NOON, constants={}).length
    assert bench.seconds / 60.0 == pytest.approx(of_studio.minutes, abs=0.6)
    # an edge of 600 nm lets more through
    assert develop(place, NOON, Frame(), StudioNow(STUDIO)).minutes < of_studio.minutes
    assert of_studio.cut_on_nm == pytest.approx(620.0, abs=1.0)


def test_a_lamps_spectrum_is_in_the_plan_of_a_day_and_at_the_bench():
    lamp = Lamp(500.0, 0.2, spectrum=known("generic red diode lamp", "lamp"))
    minutes = []
    for own in (lamp, replace(lamp, spectrum=None)):
        studio = replace(STUDIO, frames=(replace(STUDIO.frames[0], lamp=own),))
        plan = make_day(studio, date(2026, 6, 21), plates=1, effort=0.3, simulated_days=5)
        first = {step.step: step for step in plan.steps if step.plate == 1}
        waited = (first["develop"].start - first["expose"].end).total_seconds() / 60.0
        asked = develop(None, NOON, Frame(waited_min=waited), StudioNow(studio))
        planned = first["develop"].minutes
        assert planned.middle == pytest.approx(asked.minutes, rel=1e-3)
        assert planned.low == pytest.approx(asked.minutes_80[0], rel=1e-3)
        bench = light_length(studio, "development", NOON, NOON, constants={}, waited_min=waited)
        assert bench.length.seconds / 60.0 == pytest.approx(asked.minutes, abs=0.6)
        minutes.append(planned.middle)
    # more of a red lamp's light than of a halogen lamp's passes the red filter
    assert minutes[0] < 0.7 * minutes[1]


def test_light_is_the_light_of_develop():
    studio = with_spectra()
    report = light_report(studio, at=NOON, plane="sun")
    asked = develop(resolve_place(studio), NOON, Frame(), StudioNow(studio))
    assert report.development_w_m2[0] == pytest.approx(asked.development_w_m2, rel=1e-3)


def test_exposure_by_the_studio_and_by_an_option():
    studio, place = with_spectra(), resolve_place(STUDIO)
    of_studio = expose(place, NOON, Camera(), StudioNow(studio))
    by_option = expose(place, NOON, Camera(lens_spectrum=LENS), StudioNow(STUDIO))
    assert of_studio.minutes == by_option.minutes
    flint = expose(place, NOON, Camera(), StudioNow(STUDIO))  # crown and flint pass less
    assert flint.minutes > of_studio.minutes


def test_a_pane_that_stops_violet_takes_more_of_the_plate_than_of_the_meter():
    window = replace(STUDIO, subject=replace(STUDIO.subject, plane="window"))
    own = replace(window.subject, window_spectrum=known(PANE, "window"))
    laminated = replace(window, subject=own)
    plain, dulled = (light_report(s, at=NOON, plane="window") for s in (window, laminated))
    by_option = light_report(window, at=NOON, plane="window", window=PANE)
    assert dulled.actinic_w_m2 == by_option.actinic_w_m2
    violet = dulled.actinic_w_m2[0] / plain.actinic_w_m2[0]
    lux = dulled.illuminance_lux[0] / plain.illuminance_lux[0]
    assert violet < lux < 1.0
    # outside, nothing changes
    assert (
        light_report(laminated, at=NOON).actinic_w_m2 == light_report(window, at=NOON).actinic_w_m2
    )


def test_the_leak_of_a_known_filter_is_told_against_what_the_plate_bears():
    wavelengths = tuple(float(nm) for nm in range(340, 761, 5))
    leaky = Spectrum("leaky", wavelengths, tuple(0.9 if nm > 600 else 1e-3 for nm in wavelengths))
    tight = replace(leaky, value=tuple(0.9 if nm > 600 else 1e-8 for nm in wavelengths))
    zeros = replace(leaky, value=tuple(0.9 if nm > 600 else 0.0 for nm in wavelengths))
    told = []
    for shown in (leaky, tight, zeros):
        frame = replace(STUDIO.frames[0], spectrum=shown, blocking_density=None)
        now = StudioNow(replace(STUDIO, frames=(frame,)))
        answer = develop(resolve_place(STUDIO), NOON, Frame(), now)
        told.append(" ".join(answer.warnings))
    assert "The filter leaks: density 2.8 below 450 nm" in told[0]
    assert "filter" not in told[1].casefold()
    assert "spectrum of the filter shows zeros" in told[2]


def test_a_coat_is_seen_by_the_light_behind_pane_and_filter(tmp_path):
    straw = tmp_path / "straw.csv"
    straw.write_text(STRAW, encoding="utf-8")
    plain, behind, both = (
        look(**glass)
        for glass in ({}, {"screen": str(straw)}, {"screen": str(straw), "window": PANE})
    )
    passes = spectrum_at(colour.WAVELENGTH_NM, spectrum_named("", straw.name, "filter", tmp_path))
    assert behind.light.power == pytest.approx(plain.light.power * passes)
    assert both.light.name == f"D65 behind {PANE} behind {straw}"
    assert (both.light.power < behind.light.power).any()
    seen = [coat_report(32.0, view) for view in (plain, behind)]
    assert seen[0].lab != pytest.approx(seen[1].lab, abs=0.5)
    assert seen[0].coat_share == seen[1].coat_share  # the plate's own light is not the eye's
    assert look(window="generic float glass pane").light.power[-1] < plain.light.power[-1]


def test_behind_a_red_filter_no_coat_can_be_judged():
    with pytest.raises(BadInput, match="a whole part of the colours"):
        look(screen=RED)
