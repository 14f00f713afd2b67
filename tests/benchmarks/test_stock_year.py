"""A short form of `python -m benchmarks stock_year`: three invented days, the same hidden world."""

from datetime import date

import pytest
from benchmarks.stock_world import STEPS
from benchmarks.stock_year import play, told_and_spent

from argentry.keeping.studio import new_studio


def plate(grade, coat_nm, stages=5, size="quarter"):
    reached = list(STEPS)[:stages]
    return {"size": size, "grade": grade, "stages_reached": reached, "hidden": {"coat_nm": coat_nm}}


DAYS = {
    date(2025, 3, 1): [plate("fine", 24.0), plate("lost", 26.0, 4)],
    date(2025, 3, 5): [plate("study", 30.0), plate("good", 19.0)],
    date(2025, 3, 30): [plate("good", 25.0), plate("good", 22.0, size="half")],
}


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    folder = tmp_path_factory.mktemp("year") / "studio"
    new_studio(folder, {})
    return play(folder, DAYS)


def test_money_agrees_once_it_was_weighed(found):
    money = told_and_spent(found)
    assert money["silver"] == (pytest.approx(5 * 24.0), pytest.approx(5 * 24.0))
    for told, spent in money.values():
        assert spent > 0.0
        assert told == pytest.approx(spent, rel=0.02)  # each scale is off by 0.3 % of a full lot
    told, spent = (sum(pair[n] for pair in money.values()) for n in (0, 1))
    assert told == pytest.approx(spent, rel=0.01)
    assert not [one.name for one in found.stuffs if one.short]


def test_baths_hold_what_went_into_them_and_are_renewed_when_they_are_spent(found):
    assert [one.plates for one in found.baths] == [3, 2]
    for one in found.baths:
        assert one.told_mg == pytest.approx(one.dissolved_mg, rel=0.2)  # 2.2 nm on each coat
        low, high = one.told_80
        assert 0.6 * one.told_mg < low < one.told_mg < high < 1.4 * one.told_mg
    first = found.baths[0]
    assert first.told == first.plates  # a week later, before the next plate


def test_silver_left_on_plates_polished_back(found):
    assert found.apart_um
    assert max(map(abs, found.apart_um)) <= 0.3
