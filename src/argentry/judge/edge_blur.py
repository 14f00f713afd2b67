"""Motion or focus, how far and in which direction, from edges that the maker marked.

A move seen across an edge is its length times the cosine between them; a focus that is off is as
wide across every edge. Both are fitted to all marked edges at once, and told apart by how much
better one explains them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.judge.grey_scale import Line
from argentry.judge.marked_edge import BUSY, STEP_PX, WEAK, Profile, edge_profile, risen
from argentry.judge.odds import odds_over

ONE_EDGE = "mark a second edge at another angle, at least {apart:.0f} degrees apart"
ALIKE = "a motion and a focus that is off explain these edges alike: mark one more"
TWO_WAYS = "two directions explain these edges alike: mark a third one between them"
TOO_SHORT_TO_POINT = "the motion is too short to say where it points: mark one more edge"
_WIDTH_DOUBT = 0.04, 0.3  # of the width of one edge: a share of it, and so many px
_SOFT = (0.35, 4.0)  # bell of lens and copy together [px]
_FLOOR = 0.004  # of a step: what no fit goes below
# A move points anywhere; of all directions only those within some 3 degrees of one of two give
# edges their widths. So much less likely is a move beforehand than a focus that fits as well.
_TURN_PRICE = 2.0 * float(np.sqrt(2.0 * np.pi)) * 3.0 / 180.0


@dataclass(frozen=True)
class Curve:
    """What a plate makes of light.

    Attributes
    ----------
    log_exposure : ndarray
        Ascending. [1]
    share : ndarray
        Share of white, ascending. [1]
    """

    log_exposure: Floats
    share: Floats

    def of(self, light: Floats) -> Floats:
        """Return the share of white for a light; its ends stand for what lies beyond them."""
        at = np.log10(np.maximum(light, 1e-12))
        return np.asarray(np.interp(at, self.log_exposure, self.share))


@dataclass(frozen=True)
class EdgeSeen:
    """What one marked edge shows.

    Attributes
    ----------
    line : (x1, y1, x2, y2)
        As it was marked. [px]
    width : float or None
        How wide it was drawn, as a move across it; None where it does not pass. [px]
    residual : float or None
        Of the step, what no edge explains, root of the mean square. [1]
    why : str
        Why it does not count; empty when it does.
    """

    line: Line
    width: float | None
    residual: float | None
    why: str = ""


@dataclass(frozen=True)
class EdgeBlur:
    """What the marked edges say together.

    Attributes
    ----------
    edges : tuple of EdgeSeen
        One by one.
    kind : str
        sharp, motion, focus or unknown.
    odds : float
        Of that kind; of the likelier one where it is unknown. [1]
    length : float or None
        Of the motion. [px]
    direction_deg : float or None
        Of it, anticlockwise from the horizontal, 0 to 180. [deg]
    disc : float or None
        Diameter to which a point was drawn out of focus. [px]
    why : str
        Why kind, length or direction is not told; empty when they are.
    curved : bool
        True when they were read through the plate's curve; else lengths come out too short.
    """

    edges: tuple[EdgeSeen, ...]
    kind: str = "unknown"
    odds: float = 0.5
    length: float | None = None
    direction_deg: float | None = None
    disc: float | None = None
    why: str = ""
    curved: bool = False


@dataclass(frozen=True)
class _Fit:
    """One kind fitted to all edges: size, direction, and the misfit of each edge."""

    size: float
    turn_deg: float
    misfit: Floats = field(repr=False)

    @property
    def rms(self) -> float:
        return float(np.sqrt((self.misfit**2).mean()))


def blur_of_edges(
    share: Floats, lines: Sequence[Line], copy: float | None, curve: Curve | None
) -> EdgeBlur:
    """Return what marked edges say of a picture's blur.

    Parameters
    ----------
    share : ndarray, shape (height, width)
        Share of white.
    lines : sequence of (x1, y1, x2, y2)
        The marked edges. [px]
    copy : float or None
        Softness of the copy itself, standard deviation. [px]
    curve : Curve or None
        What the plate made of light; None: as if it were in proportion.
    """
    seen, good = [], []
    for line in lines:
        read = edge_profile(share, line)
        if isinstance(read, str):
            seen.append(EdgeSeen(line, None, None, read))
            continue
        one, cut = _alone(line, read, copy, curve)
        seen.append(one)
        if not one.why:
            good.append(cut)
    edges = tuple(seen)
    apart = trade.value("seeing", "edges_apart_deg")
    if not good:
        return EdgeBlur(edges, why=seen[0].why if seen else ONE_EDGE.format(apart=apart))
    if max(_between(a.normal_deg, b.normal_deg) for a in good for b in good) < apart:
        return EdgeBlur(edges, why=ONE_EDGE.format(apart=apart))
    return replace(_together(edges, good, copy, curve), curved=curve is not None)


def _alone(
    line: Line, profile: Profile, copy: float | None, curve: Curve | None
) -> tuple[EdgeSeen, Profile]:
    """Return what one edge shows by itself, and its profile cut to the window that it needs."""
    cut = profile
    for _ in range(2):
        size = _fit([cut], copy, curve, disc=False).size
        wide = size / 2 + 3.0 * max(copy or 1.0, 1.0) + max(4.0, 0.3 * size)
        keep = np.abs(profile.across) <= wide
        cut = Profile(profile.across[keep], profile.share[keep], profile.normal_deg)
    fits = [_fit([cut], copy, curve, disc=disc) for disc in (False, True)]
    best = min(fits, key=lambda one: one.rms)
    step = abs(float(cut.share[-4:].mean() - cut.share[:4].mean()))
    least, most = (trade.value("seeing", key) for key in ("edge_step_from", "edge_residual_to"))
    why = ""
    if step < least:
        why = WEAK.format(step=step, least=least)
    elif best.rms > most:
        why = BUSY.format(percent=100.0 * best.rms)
    return EdgeSeen(line, None if why else fits[0].size, best.rms, why), cut


def _together(
    edges: tuple[EdgeSeen, ...], good: list[Profile], copy: float | None, curve: Curve | None
) -> EdgeBlur:
    focus = _fit(good, copy, curve, disc=True)
    moves = sorted(_moves(edges, good, copy, curve), key=lambda one: one.rms)
    move = moves[0]
    least = trade.value("seeing", "edge_sharp_to_px")
    size = min(move, focus, key=lambda one: one.rms).size
    if size < least:
        return EdgeBlur(edges, "sharp", odds_over(least, size, 6.0))
    counts = trade.value("seeing", "edge_counts") * len(good)
    for_motion = 1.0 / (1.0 + (move.rms / focus.rms) ** counts / _TURN_PRICE)
    odds = float(max(for_motion, 1.0 - for_motion))
    if odds < trade.value("seeing", "edge_odds_from"):
        return EdgeBlur(edges, "unknown", odds, why=ALIKE)
    if for_motion < 0.5:
        return EdgeBlur(edges, "focus", odds, disc=focus.size)
    others = [
        one for one in moves[1:] if _between(one.turn_deg, move.turn_deg) > 5.0
        and counts * np.log(one.rms / move.rms) < np.log(9.0)
    ]  # fmt: skip
    same = all(abs(one.size / move.size - 1.0) < 0.1 for one in others)
    why = TWO_WAYS if others else ""
    if not others and _turn_doubt(move, good) > trade.value("seeing", "edge_turn_doubt_deg"):
        why = TOO_SHORT_TO_POINT
    return EdgeBlur(
        edges, "motion", odds, move.size if same else None, None if why else move.turn_deg, why=why
    )


def _turn_doubt(move: _Fit, good: Sequence[Profile]) -> float:
    """Return the standard deviation of a move's direction. [deg]."""
    off = np.radians([move.turn_deg - one.normal_deg for one in good])
    wide, turned = (move.size * np.abs(of(off)) for of in (np.cos, np.sin))
    sure = ((turned / (_WIDTH_DOUBT[0] * wide + _WIDTH_DOUBT[1])) ** 2).sum()
    return float(np.degrees(1.0 / np.sqrt(max(sure, 1e-9))))


def _between(a_deg: float, b_deg: float) -> float:
    """Return the angle between two directions, 0 to 90. [deg]."""
    return abs((a_deg - b_deg + 90.0) % 180.0 - 90.0)


def _moves(
    edges: tuple[EdgeSeen, ...], good: list[Profile], copy: float | None, curve: Curve | None
) -> list[_Fit]:
    """Return the moves that explain the edges, one for each direction that they leave open."""
    widths = [one.width for one in edges if one.width is not None]
    turns = np.arange(0.0, 180.0, 3.0)
    across = np.abs(np.cos(np.radians(turns[:, None] - [one.normal_deg for one in good])))
    size = (across * widths).sum(axis=1) / np.maximum((across**2).sum(axis=1), 1e-3)
    miss = ((across * size[:, None] - widths) ** 2).sum(axis=1)
    low = (miss <= np.roll(miss, 1)) & (miss < np.roll(miss, -1))
    starts = sorted(np.flatnonzero(low).tolist(), key=lambda k: float(miss[k]))[:3]
    return [
        _fit(good, copy, curve, disc=False, start=(float(size[k]), float(turns[k]))) for k in starts
    ]


def _fit(
    profiles: Sequence[Profile],
    copy: float | None,
    curve: Curve | None,
    *,
    disc: bool,
    start: tuple[float, float] | None = None,
) -> _Fit:
    """Return one kind of blur fitted to profiles; `start` is a move's size and direction."""
    from scipy.optimize import least_squares

    moves = start is not None
    size, turn = start or (max(_rough(one) for one in profiles), 0.0)
    soft = _SOFT[0] if copy is None or curve is not None else max(copy, _SOFT[0])
    after = 0.0 if copy is None or curve is None else copy / STEP_PX
    first, low, high = [soft, size], [0.3, 0.0], [_SOFT[1], 120.0]
    for one in profiles:
        ends = [float(one.share[:4].mean()), float(one.share[-4:].mean())]
        if curve is not None:
            ends = [float(np.interp(e, curve.share, curve.log_exposure)) for e in ends]
        first += [*ends, 0.0]
        low += [*(e - 1.0 for e in ends), -6.0]
        high += [*(e + 1.0 for e in ends), 6.0]
    if moves:
        first, low, high = [*first, turn], [*low, turn - 45.0], [*high, turn + 45.0]

    def misfit(given: Floats) -> Floats:
        out = []
        for k, one in enumerate(profiles):
            here, there, middle = given[2 + 3 * k : 5 + 3 * k]
            wide = given[1] * (
                abs(np.cos(np.radians(given[-1] - one.normal_deg))) if moves else 1.0
            )
            up = risen(one.across - middle, wide, given[0], disc=disc)
            if curve is None:
                drawn = here + (there - here) * up
            else:
                light = 10.0**here + (10.0**there - 10.0**here) * up
                drawn = curve.of(light)
                if after > 0.0:
                    drawn = _softened(drawn, after)
            step = max(abs(float(one.share[-4:].mean() - one.share[:4].mean())), 1e-3)
            out.append((drawn - one.share) / step / np.sqrt(one.share.size))
        return np.concatenate(out)

    begin = np.clip(first, np.add(low, 1e-3), np.subtract(high, 1e-3))
    found = least_squares(
        misfit, begin, bounds=(low, high), x_scale=np.maximum(np.abs(first), 0.3), ftol=1e-5,
        xtol=1e-5, max_nfev=40,
    )  # fmt: skip
    each = np.split(found.fun, np.cumsum([one.share.size for one in profiles])[:-1])
    rms = np.array([max(float(np.sqrt((one**2).sum())), _FLOOR) for one in each])
    return _Fit(float(found.x[1]), float(found.x[-1] % 180.0) if moves else 0.0, rms)


def _softened(values: Floats, bell: float) -> Floats:
    from scipy import ndimage

    return np.asarray(ndimage.gaussian_filter1d(values, bell, mode="nearest"))


def _rough(profile: Profile) -> float:
    """Return the width of a step by its middle six tenths, to begin with. [px]."""
    low, high = sorted((float(profile.share[:4].mean()), float(profile.share[-4:].mean())))
    inside = (profile.share > low + 0.2 * (high - low)) & (
        profile.share < high - 0.2 * (high - low)
    )
    return max(1.0, float(inside.sum()) * STEP_PX / 0.6)
