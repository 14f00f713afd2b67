"""What is advised and why, as plain records: at a checkpoint, for a trial, for a batch."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from argentry.records.learned import GoodOdds

# What to do, and the words for it.
ADVICE = {
    "continue": "continue",
    "redo": "redo",
    "stop": "stop",
    "check": "check first",
    "finished": "finished",
}


@dataclass(frozen=True)
class Option:
    """One thing that can be done at a checkpoint.

    Attributes
    ----------
    what : str
        continue, redo, stop or check.
    key : str
        The check's key; empty otherwise.
    words : str
        In words.
    minutes : float
        Of the maker's time until the next decision. [min]
    worth, low, high : float
        Good plates to be expected from now to the end of the day, with the 80 % range that comes
        of the doubt about this plate. [plates]
    """

    what: str
    key: str
    words: str
    minutes: float
    worth: float
    low: float
    high: float


@dataclass(frozen=True)
class Advice:
    """What to do at a checkpoint, with the rule and the numbers behind it.

    Attributes
    ----------
    advice : str
        One of `ADVICE`.
    key : str
        The check's key when the advice is a check.
    worth, low, high : float
        Good plates gained today over the best of the rest (looking first not counted), with
        80 % range. [plates]
    sureness : float
        Share of what is believed of this plate under which the advice is best. [1]
    stage : str
        The stage just finished; empty before the first.
    probability, probability_low, probability_high : float
        That this plate is good if it goes on. [1]
    needed : float or None
        The least such probability at which going on is as good as stopping; None when time is
        too short to finish, whatever the odds. [1]
    price_per_hour : float
        What an hour is worth: good plates that another plate would give. [plates/h]
    minutes_left : float
        Of the day. [min]
    plates : int
        Plates behind the odds.
    options : tuple of Option
        Everything that can be done, best first.
    rule : str
        The rule in one sentence, with its numbers.
    """

    advice: str
    key: str
    worth: float
    low: float
    high: float
    sureness: float
    stage: str
    probability: float
    probability_low: float
    probability_high: float
    needed: float | None
    price_per_hour: float
    minutes_left: float
    plates: int
    options: tuple[Option, ...]
    rule: str


@dataclass(frozen=True)
class Learned:
    """One number of the studio's own, beside what was assumed before any plate.

    Attributes
    ----------
    what : str
        Which number: ``"plate_speed"``, ``"half_latitude"``, ``"plate_noise"``, ``"speed_drift"``
        (from session to session), ``"box_factor"``, ``"development_dose"``, ``"veil_ratio"`` (light
        at which plates veil, over the ripe dose), ``"scatter"`` (how many
        times as far as said before them the plates strayed) or the name of an offset.
    value, low, high : float
        Median and 80 % range. [unit]
    unit : str
        Its unit.
    plates : int
        Plates behind it.
    day : date or None
        Of the last of them.
    believed, believed_low, believed_high : float
        The same before any plate. [unit]
    mostly_prior : bool
        True while the plates have not halved the variance of what was believed.
    of : str
        The box, light or coat it belongs to; empty when it is the studio's.
    before : float or None
        The median without the plates of that last day; null while no plate is behind it. [unit]
    adopted : bool
        True when no plate is behind it and other studios are: the maker wrote none of its own.
    """

    what: str
    value: float
    low: float
    high: float
    unit: str
    plates: int
    day: date | None
    believed: float
    believed_low: float
    believed_high: float
    mostly_prior: bool
    of: str = ""
    before: float | None = None
    adopted: bool = False


@dataclass(frozen=True)
class OwnNumbers:
    """What was learned for the next day plan.

    Attributes
    ----------
    learned : tuple of Learned
        Each beside what was believed.
    good : GoodOdds or None
        Odds of a good plate; None where nobody asked for them.
    mostly_prior : bool
        Whether these odds still rest on belief.
    notes : tuple of str
        What to know.
    """

    learned: tuple[Learned, ...]
    good: GoodOdds | None
    mostly_prior: bool
    notes: tuple[str, ...]

    def of(self, what: str) -> Learned | None:
        """Return one number by its name, when a plate is behind it, or other studios are."""
        found = next((one for one in self.learned if one.what == what), None)
        return found if found is not None and (found.plates or found.adopted) else None


@dataclass(frozen=True)
class Trial:
    """What to try on the next plate.

    Attributes
    ----------
    change : str
        The condition to change, ``"exposure"``, or an empty string: change nothing.
    title : str
        The same in words.
    from_, to : float or None
        From what to what; for an exposure in stops from the starting exposure. [unit]
    unit : str
        Unit of both.
    steps : tuple of float
        Strips on one plate, least first; empty for a whole plate. [unit]
    explores : bool
        True when the plate is to teach, False when it is to succeed.
    chance, chance_low, chance_high : float
        That the stage comes out ok with the change, with 80 % range. [1]
    chance_before : float
        The same without it. [1]
    doubt, doubt_after : float
        Standard deviation of what is in question, now and as expected after this plate.
        [stops or probit]
    teaches : str
        The same in one sentence.
    plates : int
        Plates behind it.
    reason : str
        Why this one.
    """

    change: str
    title: str
    from_: float | None
    to: float | None
    unit: str
    steps: tuple[float, ...]
    explores: bool
    chance: float
    chance_low: float
    chance_high: float
    chance_before: float
    doubt: float
    doubt_after: float
    teaches: str
    plates: int
    reason: str


@dataclass(frozen=True)
class Cost:
    """What a batch takes, for all plates of the plan and as expected.

    Attributes
    ----------
    hours, silver_g, gold_mg, money : float
        If every plate of the plan is made. [h, g, mg, currency]
    expected_plates, plates_low, plates_high : float
        Plates really begun when work ends with the last good one needed: mean and 80 % range.
        [plates]
    expected_hours, expected_silver_g, expected_gold_mg, expected_money : float
        What those take on average. [h, g, mg, currency]
    """

    hours: float
    silver_g: float
    gold_mg: float
    money: float
    expected_plates: float
    plates_low: float
    plates_high: float
    expected_hours: float
    expected_silver_g: float
    expected_gold_mg: float
    expected_money: float


@dataclass(frozen=True)
class PlatesOnDay:
    """Plates to begin on one day.

    Attributes
    ----------
    date : date
        The day.
    plates : int
        How many.
    """

    date: date
    plates: int


@dataclass(frozen=True)
class Need:
    """How many plates to begin to end with so many good ones.

    Attributes
    ----------
    good_wanted : int
        Good plates wanted.
    by : date
        By when.
    start : int
        Plates to plan for.
    certainty : float
        Chance that they give enough. [1]
    asked : float
        Certainty asked for. [1]
    enough_days : bool
        False when the days left do not hold the plates that would be needed.
    plates_needed : int or None
        Plates that reach the certainty asked; None when more than a thousand.
    days : tuple of PlatesOnDay
        Plates by day, where each day has the best light of its season.
    last_low, last_high : date or None
        Days by which the last is begun in one weather year of ten, and in nine of ten; None when
        not by the last day.
    cost : Cost
        What it takes.
    chance, chance_low, chance_high : float
        Share of good plates among those begun, with 80 % range. [1]
    plates_behind : int
        Plates behind that chance.
    mostly_prior : bool
        True when it rests on starting assumptions more than on plates.
    words : str
        The answer in one sentence or two.
    """

    good_wanted: int
    by: date
    start: int
    certainty: float
    asked: float
    enough_days: bool
    plates_needed: int | None
    days: tuple[PlatesOnDay, ...]
    last_low: date | None
    last_high: date | None
    cost: Cost
    chance: float
    chance_low: float
    chance_high: float
    plates_behind: int
    mostly_prior: bool
    words: str
