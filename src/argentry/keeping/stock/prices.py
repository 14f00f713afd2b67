"""What silver, gold and sundries cost, in the studio's money."""

from __future__ import annotations

from argentry import trade
from argentry.records.studio import Prices, Studio
from argentry.trade.materials import materials

TRADE_PRICES = ("silver_price", "gold_price", "sundries_price")  # in euros


def prices(studio: Studio | None) -> tuple[float, float, float]:
    """Return what silver and gold [per g] and sundries [per plate] cost, in the studio's money."""
    own = Prices() if studio is None else studio.prices
    rate = 1.0 if studio is None else studio.units.per_euro or 1.0
    given = (own.silver_per_g, own.gold_per_g, own.sundries_per_plate)
    silver, gold, sundries = (
        rate * trade.value("decide", key) if price is None else price
        for price, key in zip(given, TRADE_PRICES, strict=True)
    )
    return silver, gold, sundries


def fixing_bath(studio: Studio | None, area_cm2: float) -> float:
    """Return what the salt and water of one fixing bath cost, in the studio's money."""
    rate = 1.0 if studio is None else studio.units.per_euro or 1.0
    millilitres = next(one.amount for one in materials(area_cm2, 1) if one.key == "fixer")
    return 1e-3 * millilitres * rate * trade.value("decide", "fixer_price")


def gold_mg(area_cm2: float) -> float:
    """Return the gold in the bath of one plate of that area. [mg]."""
    return next(one.amount for one in materials(area_cm2, 1) if one.key == "gold")
