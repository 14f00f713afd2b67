"""What is not known of the seconds over iodine: the box, its crystals, the gap, the plate."""

from __future__ import annotations

from math import log, log2, sqrt
from typing import TYPE_CHECKING, Any

from argentry import trade
from argentry.needs.doubt.compose import NOISE, compose
from argentry.physics.stops import Z80
from argentry.physics.vapour import fuming_range
from argentry.records.answers.doubt import Doubt, DoubtPart

if TYPE_CHECKING:
    from argentry.needs.over_iodine import BoxToday

BOX, CRYSTALS, GAP, IODINE = "iodine box", "temperature of the crystals", "gap", "iodine's vapour"
PLATE = "warmth, damp and silver of the plate"
BY_COATS, BY_THERMOMETER = "timed coats of your own", "a thermometer among the crystals"
STILL: dict[str, Any] = {"temperature_sd_k": 0.0, "gap_sd_mm": 0.0, "box_spread": 0.0}


def fuming_doubt(box: BoxToday, thickness_nm: float) -> Doubt:
    """Return all that is not known of the seconds over iodine.

    Parameters
    ----------
    box : BoxToday
        The box.
    thickness_nm : float
        Coat wanted. [nm]
    """
    vapour = _stops(box, thickness_nm, STILL)

    def loosened(spread: str) -> float:
        """Return what one spread adds, the others being held."""
        whole = _stops(box, thickness_nm, {k: v for k, v in STILL.items() if k != spread})
        return sqrt(max(whole**2 - vapour**2, 0.0))

    crystals = DoubtPart(CRYSTALS, loosened("temperature_sd_k"))
    constants = (DoubtPart(GAP, loosened("gap_sd_mm")), DoubtPart(IODINE, vapour))
    own = DoubtPart(BOX, box.factor_log_sd / log(2.0))
    each = (
        DoubtPart(NOISE, trade.value("fuming", "box_spread") / log(2.0), shared=False),
        DoubtPart(PLATE, box.slowing[1] / log(2.0), shared=False),
    )
    # what is wrong with gap and constants in this box is in its own factor once coats are timed
    ways = [(BY_COATS, (crystals, *each)), (BY_THERMOMETER, (own, *each, *constants))]
    return compose((own, *each, crystals, *constants), ways, box.scatter)


def _stops(box: BoxToday, thickness_nm: float, held: dict[str, Any]) -> float:
    """Return the spread that the box's physics makes of what is not held. [stops]."""
    low, high = fuming_range.seconds_range(thickness_nm, **box.filled, **{**held, **box.held})
    return log2(float(high) / float(low)) / (2.0 * Z80)
