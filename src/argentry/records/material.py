"""What is kept of materials: baths, lots of stock, and what is noted of them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

LOT, BATH, WASTE = "lot", "bath", "waste"


ABOUT = (LOT, BATH, WASTE)


# What may be noted, by what it is about; the first five are the fields of `LotFacts`.
PURITY, PRICE, OPENED, EXPIRES, LEAD = "purity", "price", "opened_on", "expires_on", "lead_days"


COLLECTED = "collected"


KIND, BY_HAND = (
    "kind",
    "by_hand",
)  # of a bath: what the bench puts through it; a plate noted by hand


RUN = "run {run}"  # remark of what the bench booked by itself


WEIGHED, UNDONE = "weighed", "taken back"  # remarks of a use of a lot; the second takes back a row


THROUGH = "run {run} plate {plate}"  # in place of who, where the bench put a plate through a bath


@dataclass(frozen=True)
class Bath:
    """One mixed bath.

    Attributes
    ----------
    id : str
        Its id, UUID version 7.
    name : str
        What is on the bottle.
    recipe : str
        Key of the recipe, or the maker's own words.
    mixed_at : datetime
        When it was mixed, UTC.
    volume_ml : float
        Volume. [mL]
    plates_through : int
        Plates that went through it.
    area_cm2_through : float
        Their area. [cm2]
    discarded_at : datetime or None
        When it was disposed of, UTC; null while it is in use.
    """

    id: str
    name: str
    recipe: str
    mixed_at: datetime
    volume_ml: float
    plates_through: int = 0
    area_cm2_through: float = 0.0
    discarded_at: datetime | None = None


@dataclass(frozen=True)
class Lot:
    """One lot of stock.

    Attributes
    ----------
    id : str
        Its id, UUID version 7.
    name : str
        What it is.
    amount : float
        What came in. [unit]
    unit : str
        Unit of all amounts of this lot: ``"g"``, ``"mL"``, ``"piece"``...
    supplier : str
        From whom; empty when it is not known.
    received_on : date
        When it came in.
    used : float
        What has gone. [unit]
    """

    id: str
    name: str
    amount: float
    unit: str
    supplier: str
    received_on: date
    used: float = 0.0


@dataclass(frozen=True)
class MaterialNote:
    """One note on a lot, a bath or the waste; of several the last counts.

    Attributes
    ----------
    about : str
        ``"lot"``, ``"bath"`` or ``"waste"``.
    of : str
        Id of the lot or bath; empty for the waste.
    what : str
        What is noted: one of the words above.
    value : str
        As text; empty takes the note before it back.
    at : datetime
        When it was noted, UTC.
    who : str
        By whom.
    """

    about: str
    of: str
    what: str
    value: str
    at: datetime
    who: str = ""


@dataclass(frozen=True, kw_only=True)
class LotFacts:
    """What is known of a lot besides its amounts.

    Attributes
    ----------
    purity : float or None
        Share by mass of what the name says, from the supplier's label. [1]
    price : float or None
        Price of the whole lot, in the studio's currency.
    opened_on : date or None
        When it was opened: the bench takes what plates use up from it.
    expires_on : date or None
        Last day on which it is used.
    lead_days : float or None
        From ordering to having it. [days]
    """

    purity: float | None = None
    price: float | None = None
    opened_on: date | None = None
    expires_on: date | None = None
    lead_days: float | None = None
