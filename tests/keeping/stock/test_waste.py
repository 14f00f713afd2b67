"""Waste: what went into the baths, what is kept, against published limits."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from tests.own_recipes import OWN

from argentry.errors import BadInput
from argentry.keeping.book import studio_book
from argentry.keeping.stock.baths import discard_bath, new_bath, use_bath
from argentry.keeping.stock.waste import collected, waste, waste_of
from argentry.keeping.studio import load_studio, new_studio
from argentry.needs.materials.mixing import volume_ml
from argentry.trade.sizes import plate_size


@pytest.fixture
def folder(tmp_path):
    new_studio(tmp_path / "studio", {})
    file = tmp_path / "studio" / "studio.toml"
    file.write_text(file.read_text().replace("coat_nm = 25.0", "coat_nm = 100.0"))
    return tmp_path / "studio"


def fix(found):
    return next(one for one in found.kinds if one.kind == "fix")


def test_one_quarter_plate_in_a_quarter_litre_is_over_the_us_limit(folder):
    # Ag in a 100 nm AgI coat of a quarter plate: 2.3 mg; in 250 mL 9.3 mg/L; the limit is 5
    # (40 CFR 261.24; EPA530-K-99-002)
    new_bath(folder, "F", "fix", 250.0)
    use_bath(folder, "F", count=1)
    before = fix(waste(folder))
    assert (before.kept_ml, before.in_use_ml, before.plates) == (0.0, 250.0, 1)
    assert before.silver_mg == pytest.approx(2.33, abs=0.02)
    discard_bath(folder, "F")
    found = waste(folder)
    kept = fix(found)
    assert (kept.kept_ml, kept.made_ml, kept.in_use_ml) == (250.0, 250.0, 0.0)
    assert kept.kept_silver_mg_per_l == pytest.approx(9.3, abs=0.1)
    over = {one.name[:2]: one.over for one in found.limits}
    assert over == {"US": True, "A ": True, "Or": None}
    assert found.silver_expected_g == pytest.approx(2.33e-3, rel=0.01)
    assert found.silver_expected_g == pytest.approx(kept.kept_silver_mg / 1000.0, rel=1e-9)
    assert found.silver_expected_low_g == pytest.approx(kept.kept_silver_low_mg / 1000.0)
    assert found.silver_expected_high_g == pytest.approx(kept.kept_silver_high_mg / 1000.0)
    # the doubt of the volume, 2 %, comes in by the litre
    assert kept.kept_silver_high_mg_per_l > 4.0 * kept.kept_silver_high_mg


def test_collection_empties_what_is_kept_and_only_then(folder):
    with pytest.raises(BadInput, match="nothing is kept that could be collected"):
        collected(folder)
    new_bath(folder, "F", "fix", 250.0)
    use_bath(folder, "F", count=1)
    with pytest.raises(BadInput, match="nothing is kept"):
        collected(folder)
    discard_bath(folder, "F")
    after = collected(folder, by="a collector")
    assert fix(after).kept_ml == 0.0
    assert fix(after).made_ml == 250.0
    assert after.collected_at is not None
    assert after.silver_expected_g == 0.0
    new_bath(folder, "F2", "fix", 100.0)
    discard_bath(folder, "F2")
    assert fix(waste(folder)).kept_ml == 100.0
    collected(folder)
    assert fix(waste(folder)).kept_ml == 0.0  # the last collection counts


def test_baths_by_the_makers_own_recipe_count_too(folder):
    (folder / "recipes.toml").write_text(OWN, encoding="utf-8")
    new_bath(folder, "Mine", "weak", 250.0)
    use_bath(folder, "Mine", count=2)
    discard_bath(folder, "Mine")
    new_bath(folder, "Gilt", "gold_twice", 50.0)
    discard_bath(folder, "Gilt")
    found = waste(folder)
    mine = fix(found)
    assert (mine.kept_ml, mine.plates) == (250.0, 2)
    assert mine.kept_silver_mg == pytest.approx(2 * 2.33, rel=0.01)
    gilt = next(one for one in found.kinds if one.kind == "gild")
    assert gilt.gold_mg == pytest.approx(50.0, rel=0.01)  # 2 g/L of a salt that is half gold


def test_gold_of_a_gilding_bath_thrown_away_is_told(folder):
    new_bath(folder, "G", "gild", 50.0)
    discard_bath(folder, "G")
    gild = next(one for one in waste(folder).kinds if one.kind == "gild")
    assert gild.gold_mg == pytest.approx(25.0, rel=0.01)  # 1 g/L of a salt that is half gold
    assert gild.silver_mg == 0.0


def test_other_days_are_left_out(folder):
    new_bath(folder, "F", "fix", 250.0)
    use_bath(folder, "F", count=3)
    assert fix(waste(folder, first=date(2020, 1, 1), last=date(2020, 1, 31))).plates == 0
    with studio_book(folder, None) as book:
        found = waste_of(book, folder, now=datetime(2020, 5, 7, tzinfo=UTC))
        bare = waste_of(book, None)  # a book without its studio
        named = waste_of(book, folder, studio=replace(load_studio(folder), name="As read before"))
    assert (bare.studio, named.studio) == ("", "As read before")
    assert (found.first, found.last) == (date(2020, 5, 1), date(2020, 5, 7))
    with pytest.raises(BadInput, match="--from: it is after the last day"):
        waste(folder, first=date(2020, 2, 1), last=date(2020, 1, 1))


def test_a_gilding_bath_in_use_has_poured_its_pools_away(folder):
    """Only a bottle put out of use was waste: after three gildings there was none to keep."""
    new_bath(folder, "G", "gild", 100.0)
    pool = volume_ml("gild", [(plate_size("quarter").area_cm2, 1)])[0]

    def gild():
        return next(one for one in waste(folder).kinds if one.kind == "gild")

    def told():
        return gild().made_ml, gild().kept_ml, gild().in_use_ml

    assert told() == (0.0, 0.0, 100.0)
    use_bath(folder, "G", size="quarter", count=2)
    assert told() == pytest.approx((2 * pool, 2 * pool, 100.0 - 2 * pool))
    assert gild().gold_mg == pytest.approx(0.5 * 2 * pool, rel=0.01)
    collected(folder)
    assert told() == pytest.approx((2 * pool, 0.0, 100.0 - 2 * pool))
    use_bath(folder, "G", size="quarter", count=1)
    assert gild().kept_ml == pytest.approx(pool)
    discard_bath(folder, "G")
    assert told() == pytest.approx((100.0, 100.0 - 2 * pool, 0.0)), "poured or thrown away, once"
    new_bath(folder, "H", "gild", 40.0)
    use_bath(folder, "H", size="whole", count=9)
    assert gild().in_use_ml == 0.0, "more pools than it held pour no more than it held"
    assert gild().made_ml == pytest.approx(140.0)
