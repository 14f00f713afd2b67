"""Plates of subjects with straight edges, and the edges that a maker would mark on them.

Boards: textured planks that lie over each other, in the light and on the plate of the first
generator. Street: walls, gables and chimneys against a sky with clouds, drawn three times as large,
on the plate and by the camera of the second. A maker marks two to four sides that look whole, by
hand; now and then one of them is crossed by something all the same.
"""

import numpy as np
from PIL import Image, ImageDraw

from argentry.judge.outline.straight import frame_of, through
from benchmarks.seeing import plate_other, plate_scene

CLEAR = 26.0  # px to each side of an edge that a maker sees to be empty


def boards(rng, high, wide):
    """Return light from 0 to 1 and the sides of the boards, x before y."""
    y, x = np.mgrid[0:high, 0:wide]
    out = rng.uniform(0.3, 0.6) * (1 + 0.2 * (x / wide - 0.5) * rng.normal())
    out = out * (1 + 0.03 * plate_other.clouds(rng, (high, wide), 1.1))
    sides = []
    for _ in range(int(rng.integers(5, 9))):
        cx, cy = rng.uniform(0.1, 0.9) * wide, rng.uniform(0.1, 0.9) * high
        half = np.array([rng.uniform(0.1, 0.3) * wide, rng.uniform(0.05, 0.16) * high])
        turn = rng.uniform(0, np.pi)
        u = (x - cx) * np.cos(turn) + (y - cy) * np.sin(turn)
        v = (y - cy) * np.cos(turn) - (x - cx) * np.sin(turn)
        inside = np.clip(half[0] + 0.5 - np.abs(u), 0, 1) * np.clip(half[1] + 0.5 - np.abs(v), 0, 1)
        tone = rng.choice([rng.uniform(0.03, 0.2), rng.uniform(0.5, 0.95)])
        own = tone * (1 + 0.05 * plate_other.clouds(rng, (high, wide), 1.2) + 0.1 * u / half[0])
        out = out * (1 - inside) + own * inside
        corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half
        spin = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
        corners = corners @ spin + [cx, cy]
        sides += [(*corners[k], *corners[k - 1]) for k in range(4)]
    return np.clip(out, 0.0, 1.0), sides


def street(rng, high, wide):
    """Return log exposure of a street and the sides of its houses, x before y."""
    times = 3
    sheet = Image.new("F", (wide * times, high * times), 0.0)
    pen, sides = ImageDraw.Draw(sheet), []

    def shape(points, tone):
        pen.polygon([(a * times, b * times) for a, b in points], fill=float(tone))
        sides.extend(
            (*points[k], *points[k - 1]) for k in range(len(points))
            if np.hypot(*np.subtract(points[k], points[k - 1])) > 40
        )  # fmt: skip

    left = -0.05 * wide
    while left < wide:
        width, eaves = rng.uniform(0.2, 0.4) * wide, rng.uniform(0.45, 0.65) * high
        ridge, base = eaves - rng.uniform(0.12, 0.3) * high, 0.97 * high
        right, wall = left + width, rng.uniform(-0.9, -0.1)
        top = left + width * rng.uniform(0.35, 0.65)
        shape([(left, base), (left, eaves), (right, eaves), (right, base)], wall)
        shape([(left, eaves), (top, ridge), (right, eaves)], wall - rng.uniform(0.4, 0.8))
        for _ in range(int(rng.integers(0, 3))):
            a, b = left + rng.uniform(0.15, 0.65) * width, eaves + rng.uniform(0.05, 0.2) * high
            w, h = 0.16 * width, 0.12 * high
            shape([(a, b), (a + w, b), (a + w, b + h), (a, b + h)], wall - 0.7)
        left = right + rng.uniform(-0.02, 0.08) * wide
    drawn = np.asarray(sheet).reshape(high, times, wide, times)
    light = np.where(drawn == 0.0, 10.0**0.45, 10.0**drawn).mean(axis=(1, 3))
    detail = 0.05 * plate_other.clouds(rng, (high, wide), 1.3)
    return np.log10(light) + detail, sides


def marked(rng, light, sides):
    """Return edges as a maker marks them, the first two at clearly different angles."""

    def turn_of(one):
        return np.degrees(np.arctan2(one[3] - one[1], one[2] - one[0])) % 180.0

    whole = [part for one in sides if (part := _clear_part(light, one, sides)) is not None]
    if rng.random() < 0.25:  # one that is not
        whole.append(tuple(sides[int(rng.integers(len(sides)))]))
    rng.shuffle(whole)
    whole = [tuple(one) for one in whole]
    pairs = [
        (a, b) for a in whole for b in whole
        if abs((turn_of(a) - turn_of(b) + 90) % 180 - 90) > 32
    ]  # fmt: skip
    if not pairs:
        return None
    chosen = list(pairs[int(rng.integers(len(pairs)))])
    chosen += [one for one in whole if one not in chosen][: int(rng.integers(0, 3))]
    return [tuple(np.add(one, rng.normal(0, 1.5, 4))) for one in chosen]


def _clear_part(light, one, sides):
    """Return the longest part of a side that is seen and that no other side comes near."""
    here, there = np.array(one[:2]), np.array(one[2:])
    long = float(np.hypot(*(there - here)))
    if long < 60:
        return None
    points = here + np.linspace(0.0, 1.0, 81)[:, None] * (there - here)
    high, wide = light.shape
    room = CLEAR + 10
    fine = (points > room).all(axis=1) & (points < np.array([wide, high]) - room).all(axis=1)
    for other in sides:
        if other == one:
            continue
        a, b = np.array(other[:2]), np.array(other[2:])
        along = np.clip((points - a) @ (b - a) / max((b - a) @ (b - a), 1e-9), 0, 1)
        fine &= np.hypot(*(points - a - along[:, None] * (b - a)).T) > CLEAR
    runs = np.split(points, np.flatnonzero(np.diff(fine)) + 1)
    kept = np.split(fine, np.flatnonzero(np.diff(fine)) + 1)
    run = max((r for r, k in zip(runs, kept, strict=True) if k[0]), key=len, default=points[:1])
    if np.hypot(*(run[-1] - run[0])) < 50:
        return None
    across = np.array([here[1] - there[1], there[0] - here[0]]) / long
    beside = [np.rint(run + sign * 8 * across).astype(int) for sign in (-1, 1)]
    tones = [light[at[:, 1], at[:, 0]].mean() for at in beside]
    return (*run[0], *run[-1]) if max(tones) > 1.5 * min(tones) else None


def edge_scene(seed, blur, *, other=False, **size):
    """Return the bytes of a picture, its truth, the marked edges and the plate's curve.

    `size` as the generators of plates take it.
    """
    sides, seen = [], []

    def draw(rng, first, second):
        # the generators ask in pixels, or by places from 0 to 1
        high, wide = first.shape if other else (first, second)
        made, found = (street if other else boards)(rng, high, wide)
        sides.extend(found)
        seen.append(10.0**made if other else made)
        return made

    make = plate_other.plate_scene if other else plate_scene.plate_scene
    content, truth = make(seed, blur=blur, draw=draw, **size)
    rng = np.random.default_rng([seed, 61])
    lines = marked(rng, seen[0], sides)
    at = np.linspace(-2.2, 0.6, 60)
    if other:
        share = 0.017 + 0.5 / (1 + np.exp(-3.4 * (at - 0.15)))
    else:
        share = 0.015 + 0.4 * np.minimum(10.0**at, 1.0) ** 1.5
    # a wedge read it, on another plate
    curve = at * (1 + rng.normal(0, 0.04)), share * (1 + rng.normal(0, 0.04))
    if lines is None:
        return content, truth, None, curve
    turn = frame_of(truth.corners, *seen[0].shape)
    placed = [np.stack(through(turn, *np.array(one).reshape(2, 2).T), axis=1) for one in lines]
    return content, truth, [tuple(one.ravel()) for one in placed], curve
