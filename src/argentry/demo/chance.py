"""Chance that is the same on every machine: each draw is a hash of what it is drawn for.

No draw depends on another, so a new quantity never shifts the old ones, and no library's random
stream can change the demo.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from hashlib import blake2b
from statistics import NormalDist
from typing import TypeVar

T = TypeVar("T")

SEED = "invented year 134"  # chosen so that every main cause spoils a few plates


def share(*key: object) -> float:
    """Return an even draw between 0 and 1, both excluded."""
    text = "/".join(str(part) for part in (SEED, *key))
    number = int.from_bytes(blake2b(text.encode(), digest_size=6).digest(), "big")
    return (number + 0.5) / 2.0**48


def normal(*key: object) -> float:
    """Return a draw of a normal distribution: mean 0, standard deviation 1."""
    return NormalDist().inv_cdf(share(*key))


def happens(probability: float, *key: object) -> bool:
    """Return true with a probability [1]."""
    return share(*key) < probability


def one_of(choices: Sequence[T], *key: object) -> T:
    """Return one of some equally likely choices."""
    return choices[int(share(*key) * len(choices))]


def weighted(choices: Mapping[T, float], *key: object) -> T:
    """Return one of some choices, each as likely as its weight."""
    left = share(*key) * sum(choices.values())
    *others, last = choices
    for choice in others:
        left -= choices[choice]
        if left < 0.0:
            return choice
    return last
