"""Which plate a sitter gets: one of the size asked for, in whatever order the plates are named.

A plan that is made again may number its plates otherwise, so that the order of labels alone would
give a quarter plate to the sitter of a half.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from argentry.bench.words import A_SITTER, SITTER
from argentry.errors import BadInput
from argentry.records.day import Appointment

NONE_OF_SIZE = "{who} wants the plate size {size}, which none of those named has ({sizes})"
NAME_ONE = "name one of that size, or a label that is new to the book"
WITH_SIZE = "{label} {size}"


def of_a_size(appointments: Sequence[Appointment]) -> dict[int, Appointment]:
    """Return the sitters who want a size of their own, by the plate's place from 0 on."""
    return {one.plate - 1: one for one in appointments if one.plate is not None and one.size}


def in_plan_order(
    labels: Sequence[str], sizes: Sequence[str | None], asked: Mapping[int, Appointment]
) -> list[str]:
    """Return labels in the order in which a plan's plates are made, each sitter's of its size.

    Parameters
    ----------
    labels : sequence of str
        As they were named.
    sizes : sequence of str or None
        The size of each; None of a plate that is new, and may have any.
    asked : Mapping
        Place in the plan, from 0 on, to the sitter who wants a size there.

    Raises
    ------
    BadInput
        If none of the plates has a size that is asked for.
    """
    order = list(range(len(labels)))
    places = [place for place in sorted(asked) if place < len(labels)]
    settled = {place for place in places if sizes[place] == asked[place].size}
    for place in places:
        if place in settled:
            continue
        fits = (
            one
            for one in range(len(labels))
            if one not in settled and sizes[order[one]] in (None, asked[place].size)
        )
        # a plate that has the size before a new one, which another sitter may need
        found = min(fits, key=lambda one: (sizes[order[one]] is None, one != place), default=None)
        if found is None:
            raise _none(labels, sizes, asked[place])
        order[place], order[found] = order[found], order[place]
        settled.add(place)
    return [labels[plate] for plate in order]


def _none(labels: Sequence[str], sizes: Sequence[str | None], sitter: Appointment) -> BadInput:
    named = ", ".join(
        WITH_SIZE.format(label=label, size=size or "").strip()
        for label, size in zip(labels, sizes, strict=True)
    )
    who = SITTER.format(name=sitter.name or A_SITTER, time=f"{sitter.time:%H:%M}")
    return BadInput("plates", NONE_OF_SIZE, NAME_ONE, who=who, size=sitter.size, sizes=named)
