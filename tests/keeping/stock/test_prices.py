"""What silver, gold and sundries cost: the trade's prices, at the studio's rate, or its own."""

from dataclasses import replace

import pytest
from tests.bench_studio import studio

from argentry import trade
from argentry.keeping.stock.prices import TRADE_PRICES, fixing_bath, gold_mg, prices
from argentry.records.studio import Prices
from argentry.trade.materials import materials


def test_the_trades_prices_serve_without_a_studio_and_its_own_count_before_them():
    usual = tuple(trade.value("decide", key) for key in TRADE_PRICES)
    assert prices(None) == usual
    own = replace(studio(), prices=Prices(gold_per_g=71.0))
    own = replace(own, units=replace(own.units, per_euro=1.25))
    silver, gold, sundries = prices(own)
    assert gold == 71.0
    assert (silver, sundries) == pytest.approx((1.25 * usual[0], 1.25 * usual[2]))


@pytest.mark.parametrize("area_cm2", [50.0, 355.0])
def test_a_fixing_bath_costs_its_litres_in_the_studios_money(area_cm2):
    amount = {one.key: one.amount for one in materials(area_cm2, 1)}
    euros = amount["fixer"] / 1000.0 * trade.value("decide", "fixer_price")
    assert fixing_bath(None, area_cm2) == pytest.approx(euros)
    own = studio()
    own = replace(own, units=replace(own.units, per_euro=1.25))
    assert fixing_bath(own, area_cm2) == pytest.approx(1.25 * euros)
    assert gold_mg(area_cm2) == amount["gold"]
