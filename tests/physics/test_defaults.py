"""What a formula takes where nothing is said, the same at every door."""

import inspect
from dataclasses import MISSING, fields, is_dataclass
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules

from argentry import physics, trade
from argentry.physics.stops import SHARES_80

MODULES = [
    import_module(one.name) for one in iter_modules(physics.__path__, f"{physics.__name__}.")
]
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
    "diffuse_factor": 1.0, "around_sun": 0.0, "around_sun_per_beam": 0.0,
    "aod500": trade.value("light", "haze_aod500"),
    "albedo": trade.value("light", "ground_albedo"),
}  # fmt: skip


def _told():
    """Return what stands in the code: name, whose it is, value."""
    for module in MODULES:
        for name, thing in vars(module).items():
            where = f"{module.__name__}.{name}"
            if getattr(thing, "__module__", "") != module.__name__:
                continue
            if is_dataclass(thing):
                for one in fields(thing):
                    made = () if one.default_factory is MISSING else (one.default_factory(),)
                    for value in made or (one.default,):
                        yield one.name, where, value
            elif inspect.isfunction(inspect.unwrap(thing)):
                for one in inspect.signature(thing).parameters.values():
                    yield one.name, where, one.default


def test_what_is_taken_where_nothing_is_said():
    untold = (None, MISSING, inspect.Parameter.empty)
    told = [row for row in _told() if not any(row[2] is x for x in untold)]
    assert [row for row in told if DEFAULTS.get(row[0], row) != row[2]] == []
    assert {name for name, *_ in told} == set(DEFAULTS)


def test_every_room_of_physics_is_looked_at():
    files = {path.stem for path in Path(physics.__file__).parent.glob("[!_]*.py")}
    assert {module.__name__.rpartition(".")[2] for module in MODULES} == files
