"""What a step of the trade is: its record, with its checks and the columns it feeds."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Resource:
    """Something a step holds, one plate at a time each.

    Attributes
    ----------
    key, title : str
        Its name in ``steps.toml``, and in words.
    of : str
        List of the studio it is chosen from, such as ``"boxes"``; empty: it needs no name.
    several : bool
        True when every one of that list counts.
    kept : bool
        True when the plate stays in it until its next step begins.
    caution : str
        Caution of every step that holds it, or an empty string.
    """

    key: str
    title: str
    of: str = ""
    several: bool = False
    kept: bool = False
    caution: str = ""


@dataclass(frozen=True)
class Check:
    """One cheap check of a step.

    Attributes
    ----------
    when : str
        ``"before"``, ``"during"`` or ``"after"`` the step.
    text : str
        What to look at.
    minutes : float
        What it costs. [min]
    at_minutes : float or None
        Of a check during the step: how long after its begin. [min]
    """

    when: str
    text: str
    minutes: float
    at_minutes: float | None = None


@dataclass(frozen=True)
class Feed:
    """How a step fills a column of the plate from a run on the bench.

    Attributes
    ----------
    column : str
        Column of ``columns.toml``.
    how : str
        One of ``step_check.HOW``.
    of : str
        The other step of a gap or of ``"same day"``, the quantity of a reading (the column's own
        name when empty), or the place in the studio, such as ``"lenses.name"``.
    """

    column: str
    how: str
    of: str = ""


@dataclass(frozen=True)
class StepRule:
    """One step of the trade: what the hands do, how long it takes, what it needs and tells.

    Attributes
    ----------
    key : str
        Name of the step in ``steps.toml``.
    title : str
        What the hands do, as printed.
    stage : str
        The stage whose outcome it decides.
    scope : str
        ``"day"`` (once a day) or ``"plate"``.
    law : str
        What decides the duration: ``"fixed"``, ``"temperature"`` (Arrhenius about `reference_c`),
        ``"fuming"``, ``"exposure"``, ``"development"`` (physics computes it) or ``"drying"``.
    low_minutes, typical_minutes, high_minutes : float
        For a quarter plate; starting values where physics does not compute it. [min]
    attended : bool
        True when it needs hands all the time.
    look_for, goes_wrong : str
        The sign that it is right; what fails and when it is first seen.
    past_range : str
        What to do when it has gone on beyond the end of its range; may be empty.
    basis, source : str
        Where the minutes and the rest were read.
    activation_kj_mol : float or None
        For the temperature law. [kJ/mol]
    reference_c : float or None
        Temperature at which the minutes hold. [°C]
    area_exponent : float
        Minutes scale with (area / quarter-plate area) to this power. [1]
    resource : str
        Key of what it holds, or an empty string.
    start_within_minutes : float or None
        Latest start after the end of the step before; 0 at once, None no limit. [min]
    keep_basis, keep_source : str
        Where that limit comes from.
    reads_before, reads_after : tuple of str
        Quantities to read before it begins and after it ends.
    feeds : tuple of Feed
        Columns it fills.
    checks : tuple of Check
        In the order in which they are asked.
    gate : str
        Checkpoint passed at the end of the step: one of ``step_check.GATES``.
    cautions : tuple of str
        Keys of ``cautions.toml``.
    uses : tuple of (str, float, str)
        Material key, amount for a quarter plate, unit.
    another_day : str
        ``"before"`` or ``"after"`` where it may be done on a day before, or after, the plate's own.
    """

    key: str
    title: str
    stage: str
    scope: str
    law: str
    low_minutes: float
    typical_minutes: float
    high_minutes: float
    attended: bool
    look_for: str
    goes_wrong: str
    basis: str
    source: str
    activation_kj_mol: float | None = None
    reference_c: float | None = None
    area_exponent: float = 0.0
    resource: str = ""
    start_within_minutes: float | None = None
    keep_basis: str = ""
    keep_source: str = ""
    reads_before: tuple[str, ...] = ()
    reads_after: tuple[str, ...] = ()
    feeds: tuple[Feed, ...] = ()
    checks: tuple[Check, ...] = ()
    gate: str = ""
    cautions: tuple[str, ...] = ()
    uses: tuple[tuple[str, float, str], ...] = ()
    another_day: str = ""
    past_range: str = ""

    @property
    def check(self) -> str:
        """The check asked at its end, or an empty string."""
        return next((check.text for check in self.checks if check.when == "after"), "")

    @property
    def checks_line(self) -> str:
        """All its checks in one line, each with its moment unless it is asked at the end."""
        looks = [check for check in self.checks if check.when == "during"]
        said = [
            "before it, {c}".format(c=_lower(c.text)) for c in self.checks if c.when == "before"
        ]
        if looks:
            moments = ", ".join(f"{check.at_minutes:g}" for check in looks)
            said.append(
                "at {moments} min, {looks}".format(moments=moments, looks=_lower(looks[0].text))
            )
        return "; ".join([*said, self.check] if self.check else said)


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]
