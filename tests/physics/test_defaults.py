"""What a formula takes where nothing is said, the same at every door."""

from pathlib import Path

from tests.defaults import modules_of, told

from argentry import physics, trade
from argentry.physics.stops import SHARES_80

MODULES = modules_of(physics)
# By the name of the argument or the field: at sea level, straight on, at the stated time, alone.
DEFAULTS = {
    "pressure_pa": 101_325.0, "elevation_m": 0.0, "temperature_c": 25.0,
    "angle_deg": 0.0, "tilt_mm": 0.0, "tray_difference_k": 0.0, "horizon": (),
    "rested": True, "box_factor": 1.0, "constants_known": False, "thickness_nm": 0.0,
    "magnification": 0.0, "pupil_ratio": 1.0, "relative_coat_speed": 1.0, "mirror": False,
    "exposure_stops": 0.0, "start_s": 0.0, "iso": 100.0, "distance_factor": 1.0,
    "share": 0.8, "shares": SHARES_80, "seed": 1, "layers": ((1.0, None),), "in_nm": True,
    "face_m": (None, None), "gain_times": 1.0, "kind": "halogen",
    "plane": "sun", "exposure_plane": "sun", "development_plane": "sun", "sun_visible": True,
    "view": 1.0, "violet_correction": True, "meter": "luminous",
    "step_minutes": 1.0, "okta_sd": 0.0, "hour_sd": 0.0, "clear_diffuse_share": 0.2,
    "haze_aod": 0.1, "haze_ln_sd": 0.0, "minutes": True,
    "before_mg_m3": 0.0, "openings": 0, "weighed": (), "constants": "in_bath",
    "criterion": "print", "where": "plane",
    "moved_nm": 0.0, "wider": 0.0, "leaks": 0.0,  # the camera as it is usual
    "diffuse_factor": 1.0, "around_sun": 0.0, "around_sun_per_beam": 0.0,
    "aod500": trade.value("light", "haze_aod500"),
    "albedo": trade.value("light", "ground_albedo"),
}  # fmt: skip


def test_what_is_taken_where_nothing_is_said():
    found = told(MODULES)
    assert [row for row in found if DEFAULTS.get(row[0], row) != row[2]] == []
    assert {name for name, *_ in found} == set(DEFAULTS)


def test_every_room_of_physics_is_looked_at():
    files = {path.stem for path in Path(physics.__file__).parent.rglob("[!_]*.py")}
    assert {module.__name__.rpartition(".")[2] for module in MODULES} == files
