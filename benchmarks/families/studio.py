"""What a simulated studio is: what spoils its plates, its notebook, and the truth behind both."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import date

STAGES = ("polish", "coat", "exposure", "development", "finish")


@dataclass
class Work:
    """One plate as it really was; `hidden` is what nobody writes down."""

    number: int
    day: date
    session: int
    order: int
    values: dict[str, Any]
    hidden: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class Spoiler:
    """One thing that spoils plates in a studio.

    `chance` is the chance that it spoils a plate, given all that is so about the plate; `expected`
    the same where what is hidden from the maker is not known (left out: the same). `names` are the
    words under which naming it is right: keys of the trade's list, or columns. `columns` are the
    columns it acts through; none when it is in no column. `stage` is where it is made, `seen`
    where it shows. `better` holds settings that would spare the maker most of it.
    """

    name: str
    stage: str
    chance: Callable[[Work], float]
    names: tuple[str, ...] = ()
    columns: tuple[str, ...] = ()
    seen: str = ""
    expected: Callable[[Work], float] | None = None
    better: Mapping[str, Any] = field(default_factory=dict)

    def told(self, work: Work) -> float:
        return (self.expected or self.chance)(work)


@dataclass(frozen=True)
class Manner:
    """How a maker writes the notebook.

    `bookings` is none, right (85 % on the stage where the fault was made) or seen (on the stage
    where it showed). `looks` is table (the trade's), scrambled (each fault has looks of its own in
    this studio), noisy or none. `turned` is the share of grades written down wrongly, `missing` the
    share of cells left empty, `unkept` the share of columns this maker does not keep at all.
    """

    bookings: str = "none"
    looks: str = "table"
    turned: float = 0.0
    missing: float = 0.1
    unkept: float = 0.3


@dataclass
class World:
    """A studio that can make plates: its form, its spoilers, its hands and its manner.

    `turn` is called before each plate with the generator and the plate, and may change what is
    hidden or add columns of the maker's own.
    """

    family: str
    spoilers: tuple[Spoiler, ...]
    main: Spoiler | None
    manner: Manner
    turn: Callable[[Any, Work], None] = lambda _rng, _work: None
    own: tuple[str, ...] = ()
    habits: dict[str, Any] = field(default_factory=dict)
    about: str = ""

    def good(self, work: Work) -> float:
        """Return the chance that a plate is good, as far as anybody in the studio could know."""
        chance = 1.0
        for spoiler in self.spoilers:
            chance *= 1.0 - spoiler.told(work)
        return chance

    def graded_good(self, work: Work) -> float:
        """Return the chance that this maker's grade of a plate says good."""
        good, turned = self.good(work), self.manner.turned
        return good * (1.0 - turned) + (1.0 - good) * turned


@dataclass(frozen=True)
class Made:
    """One plate of the notebook with the truth behind it."""

    label: str
    work: Work
    spoilt_by: tuple[Spoiler, ...]
    good: bool  # as it truly is
    row: Mapping[str, str]


@dataclass(frozen=True)
class Studio:
    """A notebook of one world, and plates that come after it."""

    world: World
    seed: int
    made: tuple[Made, ...]
    kept: tuple[str, ...]  # columns this maker writes down
    after: tuple[Made, ...]  # plates made next, whose end the notebook does not know

    @property
    def rows(self) -> list[Mapping[str, str]]:
        return [one.row for one in self.made]
