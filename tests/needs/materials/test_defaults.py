"""What materials take where nothing is said: a whole plate, both its sides, an open tray."""

from tests.defaults import modules_of, told

from argentry.needs import materials

DEFAULTS = {
    "limit_basis": "", "keeps_days": 0.0, "clearing_s": (), "mg": 0.0, "own_mg": 0.0,
    "alike_mg": (0.0,) * 4, "layer_known": False, "looks": (), "weak": 0.0,
    "temperatures_c": (), "keys": (), "spare_pct": 0.0, "purity": 1.0, "room_c": 20.0, "own": (),
    "worn": False, "ready": True, "plates": 1, "sides": 2, "rack_cm2": 0.0, "strike_um": 0.0,
    "open_s": 0.0, "tray_cm2": 400.0, "headspace_l": 0.0, "openings": 1, "box_days": 1.0,
    "hours": 8.0, "acid_g": 0.0, "alcohol_ml": 0.0, "acetone_ml": 0.0, "minutes": 1.0,
    "hardness_unit": "mg/L",
}  # fmt: skip


def test_what_is_taken_where_nothing_is_said():
    found = told(modules_of(materials))
    assert [row for row in found if DEFAULTS.get(row[0], row) != row[2]] == []
    assert {name for name, *_ in found} == set(DEFAULTS)
