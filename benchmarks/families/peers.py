"""Peers: what a stranger would reach for with the same notebook.

Written out here in a few lines each, since the tests need no library of learning otherwise: the
share of good plates, ridge (logistic, its weight chosen by five folds), boosting of small trees on
the log odds, and a forest of deep ones. Words become columns of 0 and 1. An empty cell becomes the
cell of another plate, drawn by lot: a middle value, or a column that says which cells are empty,
would give away how plates of the notebook ended, since what a plate never reached is empty.
"""

from __future__ import annotations

from datetime import datetime

import numpy as np

SKIP = ("plate", "date", "session", "order", "grade", "defects", "exposure_start")
CUTS = 24


class Sheet:
    """Turn a notebook's rows into numbers, and later plates in the same way."""

    def __init__(self, rows):
        rows = [_plain(row) for row in rows]
        names = sorted({c for row in rows for c in row})
        self.numbers, self.words, self.seen = [], [], {}
        for name in names:
            seen = self.seen[name] = [row[name] for row in rows if name in row]
            if all(isinstance(v, float) for v in seen):
                if len(set(seen)) > 1:
                    self.numbers.append((name, np.median(seen), np.std(seen)))
            else:
                self.words += [(name, w) for w in sorted(set(seen)) if seen.count(w) >= 2]
        lot = np.random.default_rng(3)
        self.x = self._of([self._filled(row, lot) for row in rows])

    def of(self, rows):
        return self._of([_plain(row) for row in rows])

    def _filled(self, row, lot):
        return {n: row.get(n, seen[lot.integers(len(seen))]) for n, seen in self.seen.items()}

    def _of(self, rows):
        out = [
            [(row.get(n, mid) - mid) / spread for n, mid, spread in self.numbers]
            + [float(row.get(n) == w) for n, w in self.words]
            for row in rows
        ]
        return np.array(out, dtype=float).reshape(len(rows), -1)


def _plain(row):
    """Return a row's conditions as numbers where they are; the length of development as minutes."""
    row = {c: v for c, v in row.items() if v != "" and c not in SKIP and not c.startswith("stage_")}
    start, end = row.pop("development_start", None), row.pop("development_end", None)
    if start is not None:
        begun = datetime.fromisoformat(start)
        row["start_hour"] = begun.hour + begun.minute / 60.0
        if end is not None:
            row["minutes"] = (datetime.fromisoformat(end) - begun).total_seconds() / 60.0
    found = {}
    for column, value in row.items():
        try:
            found[column] = float(value)
        except ValueError:
            found[column] = str(value)
    return found


def base_rate(_x, y, new):
    return np.full(len(new), (y.sum() + 1.0) / (y.size + 2.0))


def ridge(x, y, new, weights=(0.3, 1.0, 3.0, 10.0, 30.0, 100.0, 300.0)):
    folds = np.arange(y.size) % 5
    loss = []
    for weight in weights:
        said = np.empty(y.size)
        for fold in range(5):
            out = folds == fold
            said[out] = _logistic(x[~out], y[~out], x[out], weight)
        said = np.clip(said, 1e-4, 1 - 1e-4)
        loss.append(-np.mean(y * np.log(said) + (1 - y) * np.log(1 - said)))
    return _logistic(x, y, new, weights[int(np.argmin(loss))])


def _logistic(x, y, new, weight):
    ones = np.ones((len(x), 1))
    a = np.hstack([ones, x])
    penalty = np.diag([1e-3, *[weight] * x.shape[1]])
    beta = np.zeros(a.shape[1])
    for _ in range(25):
        p = 1.0 / (1.0 + np.exp(-np.clip(a @ beta, -30, 30)))
        step = np.linalg.solve(
            a.T @ (a * (p * (1 - p))[:, None]) + penalty, a.T @ (y - p) - penalty @ beta
        )
        beta += step
        if np.abs(step).max() < 1e-6:
            break
    return 1.0 / (1.0 + np.exp(-np.clip(np.hstack([np.ones((len(new), 1)), new]) @ beta, -30, 30)))


def _best_cut(x, cuts, target, weight, columns, least):
    """Return (gain, column, cut) of the split that most lessens the squared miss."""
    total, heft = target.sum(), weight.sum()
    below = x[:, columns][:, :, None] <= cuts[columns][None]
    left = np.einsum("ijk,i->jk", below, target)
    held = np.einsum("ijk,i->jk", below, weight)
    few = np.einsum("ijk->jk", below.astype(float))
    with np.errstate(divide="ignore", invalid="ignore"):
        gain = left**2 / held + (total - left) ** 2 / (heft - held) - total**2 / heft
    gain[~np.isfinite(gain) | (few < least) | (len(x) - few < least)] = -1.0
    best = np.unravel_index(np.argmax(gain), gain.shape)
    return gain[best], columns[best[0]], cuts[columns[best[0]], best[1]]


def _tree(x, cuts, target, weight, depth, rng, some, least):
    """Return a tree: (column, cut, left, right), or a number."""
    middle = target.sum() / max(weight.sum(), 1e-9)
    if depth == 0 or len(x) < 2 * least or np.ptp(target) == 0:
        return middle
    columns = rng.choice(x.shape[1], some, replace=False) if some else np.arange(x.shape[1])
    gain, column, cut = _best_cut(x, cuts, target, weight, columns, least)
    if gain <= 1e-12:
        return middle
    low = x[:, column] <= cut
    low_side, high_side = (
        _tree(x[s], cuts, target[s], weight[s], depth - 1, rng, some, least) for s in (low, ~low)
    )
    return column, cut, low_side, high_side


def _read(tree, x):
    if not isinstance(tree, tuple):
        return np.full(len(x), tree)
    column, cut, low, high = tree
    return np.where(x[:, column] <= cut, _read(low, x), _read(high, x))


def _cuts(x):
    return np.quantile(x, (np.arange(CUTS) + 0.5) / CUTS, axis=0).T


def boosting(x, y, new, rounds=60):
    """Boost trees of two levels; five folds say after how many of them to stop."""
    folds, loss = np.arange(y.size) % 5, np.zeros(rounds + 1)
    for fold in range(5):
        out = folds == fold
        path = _boosted(x[~out], y[~out], x[out], rounds)
        loss -= np.sum(np.where(y[out] > 0, np.log(path), np.log(1.0 - path)), axis=1)
    best = int(np.argmin(loss))
    return _boosted(x, y, new, best)[best]


def _boosted(x, y, new, rounds, rate=0.08, depth=2):
    """Return what is said of new plates after 0, 1, 2 ... trees."""
    rng, cuts = np.random.default_rng(1), _cuts(x)
    start = np.log((y.sum() + 1.0) / (y.size - y.sum() + 1.0))
    here, there = np.full(y.size, start), np.full(len(new), start)
    path = [there]
    for _ in range(rounds):
        p = 1.0 / (1.0 + np.exp(-here))
        tree = _tree(x, cuts, y - p, p * (1 - p), depth, rng, 0, 4)
        here, there = here + rate * _read(tree, x), there + rate * _read(tree, new)
        path.append(there)
    return 1.0 / (1.0 + np.exp(-np.array(path)))


def forest(x, y, new, trees=60):
    rng, cuts = np.random.default_rng(2), _cuts(x)
    some = max(1, int(np.sqrt(x.shape[1])))
    said = np.zeros(len(new))
    for _ in range(trees):
        pick = rng.integers(0, y.size, y.size)
        tree = _tree(x[pick], cuts, y[pick], np.ones(y.size), 6, rng, some, 3)
        said += _read(tree, new) / trees
    return np.clip(said, 0.02, 0.98)


PEERS = {"base rate": base_rate, "ridge": ridge, "boosting": boosting, "forest": forest}


def predict(rows, questions):
    """Return what each peer says of the questions, from the graded rows of a notebook."""
    sheet = Sheet(rows)
    y = np.array([row["grade"] in ("good", "fine") for row in rows], dtype=float)
    new = sheet.of([{c: str(v) for c, v in q.items()} for q in questions])
    return {name: peer(sheet.x, y, new) for name, peer in PEERS.items()}
