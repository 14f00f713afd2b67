"""A stock room, baths and plates as they really are: the hidden world of `stock_year`.

None of its numbers and laws comes from argentry.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from datetime import datetime

Truth = dict[str, Any]  # of a plate: size, grade, stages_reached, hidden
AREA = {"quarter": 3.25 * 4.25 * 6.4516, "sixth": 2.75 * 3.25 * 6.4516, "half": 4.25 * 5.5 * 6.4516}
AGI_G_CM3, AG, AGI, SILVER_G_CM3 = 5.683, 107.8682, 234.7727, 10.49
LEAST_UM = 2.0  # below it the copper shows
PLATED_UM, PLATE_PRICE, PLATES_A_LOT = 3.6, 24.0, 10
BATH_ML, HYPO_G = 100.0, 8.0
PICTURE_NM, SPREAD_NM = 2.2, 4.6  # how far a picture reads a coat off; coats about their mean
CLAIM = 0.25  # how far what a picture says of its own doubt strays, of the logarithm
CARRIED_ML = 0.9  # of the bath by each plate, 0.1 mm over a quarter plate
STEPS = {
    "polish": ("scour", "rouge_buff", "final_buff", "warm"),
    "coat": ("iodise",),
    "exposure": ("load", "expose", "to_frame"),
    "development": ("develop",),
    "finish": ("fix", "wash", "look", "gild", "quench", "dry", "inspect", "seal", "label"),
}


@dataclass
class Stuff:
    """A material as it really is.

    Attributes
    ----------
    name, amount, unit, price : str, float, str, float
        What one lot is, holds and costs.
    each : float
        What a quarter plate really takes at `step`. [unit]
    step : str
        Key of the step.
    lead : float
        What the shop says an order takes. [days]
    lots : dict of str to float
        What is really left. [unit]
    """

    name: str
    amount: float
    unit: str
    price: float
    each: float
    step: str
    lead: float
    lots: dict[str, float] = field(default_factory=dict)
    spent: float = 0.0
    short: int = 0
    orders: list[float] = field(default_factory=list)  # days that the rest lasted on arrival

    def take(self, amount: float) -> None:
        """Take from the oldest lots; what is not there is missed."""
        for lot, left in self.lots.items():
            part = min(left, amount)
            self.lots[lot] -= part
            self.spent += part / self.amount * self.price
            amount -= part
        self.short += amount > 1e-9

    @property
    def there(self) -> float:
        """All that is really left."""
        return sum(self.lots.values())


# name, amount, unit, price, what a quarter plate really takes, at which step, lead time
WORLD = (
    ("Iodine", 1.0, "g", 14.0, 0.0128, "iodise", 10.0),
    ("Rotten stone", 60.0, "g", 8.0, 1.3, "scour", 14.0),
    ("Rouge", 25.0, "g", 15.0, 0.35, "rouge_buff", 14.0),
    ("Distilled water", 25.0, "L", 12.0, 1.1, "wash", 3.0),
    ("Gold chloride", 0.5, "g", 62.0, 0.0190, "gild", 21.0),
    ("Cover glass", 25.0, "piece", 40.0, 1.0, "seal", 7.0),
    ("Labels", 50.0, "piece", 6.0, 1.0, "label", 7.0),
)
HYPO = ("Hypo", 500.0, "g", 11.0, 0.0, "", 7.0)
KEYS = {
    "iodine": "Iodine", "polish": "Rotten stone", "rouge": "Rouge", "gold": "Gold chloride",
    "distilled_water": "Distilled water", "glass": "Cover glass", "label": "Labels",
    "fixer": "Hypo",
}  # fmt: skip


@dataclass
class TrueBath:
    """A fixing bath as it really is."""

    name: str
    mixed: datetime
    fresh_s: float
    spoils_days: float
    dissolved_mg: float = 0.0
    held_mg: float = 0.0
    volume_ml: float = BATH_ML
    plates: int = 0
    told_mg: float = 0.0
    told_80: tuple[float, float] = (0.0, 0.0)
    unsure_mg2: float = 0.0  # variance of what anybody could know of it by the pictures
    told: int | None = None  # plates through it when the tool called it spent
    spent: int | None = None  # and when it was

    @property
    def chance_within(self) -> float:
        """Chance that silver known as well as the pictures allow is within 5 % of the truth."""
        return math.erf(0.05 * self.dissolved_mg / math.sqrt(2.0 * self.unsure_mg2))

    def ratio(self, now: datetime) -> float:
        """Return how much slower it clears than fresh: by silver, and by what spoils it."""
        days = (now - self.mixed).total_seconds() / 86400.0
        return 1.0 + 2.2 * self.held_mg / self.volume_ml + (days / self.spoils_days) ** 3


@dataclass
class TruePlate:
    """A plate as it really is. [µm]"""

    size: str
    um: float
    grams: float  # of copper
    passes: int = 0
    worn_through: bool = False
