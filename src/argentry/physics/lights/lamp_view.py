"""What share of a lamp's light a plate facing it takes, from the sizes of both.

A matt source that lies square over the plate: a panel, or the mouth of a reflector. Light that a
lamp sends and a plate takes is counted as a view factor from lamp to plate, which cannot pass 1; by
its reciprocity the plate is never brighter lit than the lamp's own face. Close to the lamp this
is exact; far away it goes over into power/(pi r^2).

References
----------
.. [1] J. R. Howell, A Catalog of Radiation Heat Transfer Configuration Factors, University of
   Texas at Austin: B-4 and B-13 (element to rectangle and to disc), C-13 (rectangle to parallel
   rectangle), C-41 (disc to parallel coaxial disc).
.. [2] R. Siegel and J. R. Howell, Thermal Radiation Heat Transfer, appendix of configuration
   factors: the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import atan, hypot, log1p, pi, sqrt

Sides = tuple[float, float]  # [m]


def rectangle_to_rectangle(lamp_m: Sides, plate_m: Sides, distance_m: float) -> float:
    """Return the share of a panel's light that a plate square before its middle takes.

    Parameters
    ----------
    lamp_m, plate_m : (float, float)
        Width and height; the sides lie parallel. [m]
    distance_m : float
        [m]

    Returns
    -------
    float
        View factor from lamp to plate, at most 1. [1]

    References
    ----------
    Howell C-13 [1]_.

    Examples
    --------
    Two equal squares one side apart see 0.1998 of each other:

    >>> round(rectangle_to_rectangle((1.0, 1.0), (1.0, 1.0), 1.0), 4)
    0.1998
    """
    z2 = distance_m**2

    def term(x: float, y: float) -> float:
        across, along = sqrt(x * x + z2), sqrt(y * y + z2)
        # the logarithm of the whole sum of squares, less ln z^2, which cancels in the sum of signs
        return (
            y * across * atan(y / across)
            + x * along * atan(x / along)
            - 0.5 * z2 * log1p((x * x + y * y) / z2)
        )

    wide, high = (
        [(lamp + plate) / 2.0, (lamp - plate) / 2.0]
        for lamp, plate in zip(lamp_m, plate_m, strict=True)
    )
    total = (term(wide[0], high[0]) + term(wide[1], high[1])) - (
        term(wide[0], high[1]) + term(wide[1], high[0])
    )
    # of the sixteen terms each of these four comes four times
    return min(1.0, max(0.0, 4.0 * total / (2.0 * pi * lamp_m[0] * lamp_m[1])))


def disc_to_disc(lamp_radius_m: float, plate_radius_m: float, distance_m: float) -> float:
    """Return the share of a round mouth's light that a round plate before its middle takes.

    Parameters
    ----------
    lamp_radius_m, plate_radius_m, distance_m : float
        [m]

    Returns
    -------
    float
        View factor from lamp to plate, at most 1. [1]

    References
    ----------
    Howell C-41 [1]_.

    Examples
    --------
    >>> round(disc_to_disc(1.0, 1.0, 1.0), 4)
    0.382
    """
    lamp, plate = lamp_radius_m / distance_m, plate_radius_m / distance_m
    x = 1.0 + (1.0 + plate**2) / lamp**2
    # (x - sqrt(x^2 - 4 q))/2 without taking near equals from each other far away
    quarter = (plate / lamp) ** 2
    return min(1.0, 2.0 * quarter / (x + sqrt(x**2 - 4.0 * quarter)))


def point_to_rectangle(plate_m: Sides, distance_m: float) -> float:
    """Return the share of a bare bulb's light that a plate square before it takes.

    The solid angle of the plate over that of the whole sphere.

    Parameters
    ----------
    plate_m : (float, float)
        [m]
    distance_m : float
        From the bulb's middle. [m]

    Returns
    -------
    float
        At most one half. [1]

    Examples
    --------
    One side of a cube seen from its middle:

    >>> round(point_to_rectangle((2.0, 2.0), 1.0), 6)
    0.166667
    """
    a, b = (side / 2.0 for side in plate_m)
    return atan(a * b / (distance_m * sqrt(a * a + b * b + distance_m**2))) / pi


def at_point_of_rectangle(lamp_m: Sides, at_m: Sequence[float], distance_m: float) -> float:
    """Return how bright a panel lights one point of a plate, over the panel's own exitance.

    Parameters
    ----------
    lamp_m : (float, float)
        [m]
    at_m : sequence of float
        The point, from the middle along both sides. [m]
    distance_m : float
        [m]

    Returns
    -------
    float
        View factor from the point to the lamp. [1]

    References
    ----------
    Howell B-4 [1]_, summed over the four corners.
    """

    def corner(x: float, y: float) -> float:
        x, y = x / distance_m, y / distance_m
        wide, high = sqrt(1.0 + x * x), sqrt(1.0 + y * y)
        return (x / wide * atan(y / wide) + y / high * atan(x / high)) / (2.0 * pi)

    a, b = (side / 2.0 for side in lamp_m)
    u, v = at_m
    return sum(corner(a + su * u, b + sv * v) for su in (1, -1) for sv in (1, -1))


def at_point_of_disc(lamp_radius_m: float, away_m: float, distance_m: float) -> float:
    """Return how bright a round mouth lights one point of a plate, over the mouth's own exitance.

    In the middle it is sin^2 of the half angle under which the mouth is seen.

    Parameters
    ----------
    lamp_radius_m, away_m, distance_m : float
        Of the mouth, of the point from the middle of the plate, and between them. [m]

    Returns
    -------
    float
        View factor from the point to the lamp. [1]

    References
    ----------
    Howell B-13 [1]_.

    Examples
    --------
    >>> round(at_point_of_disc(1.0, 0.0, 1.0), 12)
    0.5
    """
    h2, r2, a2 = distance_m**2, lamp_radius_m**2, away_m**2
    z = h2 + a2 + r2
    root = sqrt(z**2 - 4.0 * r2 * a2)
    # ((root) - (h^2 + a^2 - r^2))/(2 root), without the loss of figures far away
    other = h2 + a2 - r2
    if other <= 0.0:
        return 0.5 * (1.0 - other / root)
    return 2.0 * r2 * h2 / (root * (root + other))


def at_point_of_bulb(away_m: float, distance_m: float) -> float:
    """Return the light of a bare bulb at one point of a plate, per watt that it sends out. [1/m2].

    Parameters
    ----------
    away_m, distance_m : float
        Of the point from the middle of the plate, and of the bulb. [m]
    """
    return distance_m / (4.0 * pi * hypot(away_m, distance_m) ** 3)
