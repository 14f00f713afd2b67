"""Safety of what is really in stock."""

from argentry.keeping.stock.baths import new_bath
from argentry.keeping.stock.lots import new_lot, use_stock
from argentry.keeping.stock.safety import day_equipment, material_safety, room_safety


def test_the_card_knows_what_is_there_and_nothing_else(folder):
    assert room_safety(folder).materials == ()
    new_lot(folder, "Hypo", 500.0, "g")
    new_lot(folder, "Iodine", 100.0, "g")
    new_lot(folder, "Iodine, old", 1.0, "g")
    new_lot(folder, "Ethanol", 1.0, "L")
    use_stock(folder, "Ethanol", 1.0)
    new_bath(folder, "G", "gild", 50.0)
    new_lot(folder, "Moon milk", 1.0, "L")
    found = room_safety(folder)
    assert [one.material for one in found.materials] == ["iodine", "gold_bath", "thiosulfate"]
    assert found.materials[0].names == ("Iodine", "Iodine, old")
    assert found.not_known == ("Moon milk",)
    assert found.apart == ()


def test_danger_stands_before_warning_on_the_card(folder):
    new_bath(folder, "G", "gild", 50.0)
    for name in ("Rouge", "Ethanol", "Acetone"):
        new_lot(folder, name, 100.0, "g")
    signals = [one.signal for one in room_safety(folder).materials]
    assert signals == ["Danger", "Danger", "Warning", ""]


def test_what_must_not_meet_is_told_for_what_is_there(folder):
    new_lot(folder, "Gold chloride", 1.0, "g")
    new_lot(folder, "Ethanol", 1.0, "L")
    (pair,) = room_safety(folder).apart
    assert {pair.one, pair.other} == {"Gold chloride", "Ethanol"}


def test_a_material_has_its_codes_with_their_texts(folder):
    iodine = material_safety("iodine")
    assert [one.code for one in iodine.statements] == [
        *("H312", "H332", "H315", "H319", "H335", "H372", "H400"),
    ]
    assert "P305+P351+P338" in {one.code for one in iodine.advice}
    assert material_safety("hypo").signal == ""


def test_the_day_asks_for_what_its_cautions_ask_for():
    found = day_equipment()
    by_step = {one.step.split(";")[0].split(" ")[0].casefold(): one.wear for one in found.steps}
    assert any("hood or open air" in wear for wear in by_step.values())
    assert set(found.whole) == {one for step in found.steps for one in step.wear}
    assert "goggles" in found.whole
