"""Light that falls off across a plate, taken out of pictures of one plate that differ in time.

Each picture is lit a little more on one side or another, by one or two per cent. What the plate
shows is the same everywhere that it came up alike: against the mean of the later pictures, each
picture has one curve of tones and the fall of its own light. A fall that all pictures share looks
like the subject and stays.
"""

from __future__ import annotations

import numpy as np

from argentry.arrays import Floats

_BEND = 4  # degree of a picture's curve of tones
_FAR = 3.0  # robust standard deviations: fields farther off are left out
_TURNS = 3


def without_fall(pictures: Floats) -> Floats:
    """Return fields of pictures as if each were lit alike from side to side.

    Parameters
    ----------
    pictures : ndarray, shape (pictures, rows, columns)
        Levels above 0, in order of time.
    """
    count, rows, columns = pictures.shape
    if count == 1:  # a subject cannot be told from the light
        return pictures
    y, x = (one.ravel() for one in np.mgrid[-0.5 : 0.5 : rows * 1j, -0.5 : 0.5 : columns * 1j])
    logs = np.log(pictures.reshape(count, -1))
    later = logs[count // 2 :].mean(axis=0)
    tone = (later - later.mean()) / max(float(later.std()), 1e-9)
    given = np.stack([x, y, *(tone**power for power in range(_BEND + 1))], axis=1)
    fall = [given[:, :2] @ _robust(given, one)[:2] for one in logs]
    return np.asarray(np.exp(logs - fall).reshape(pictures.shape))


def _robust(given: Floats, wanted: Floats) -> Floats:
    """Return least squares without what lies far off."""
    keep = np.ones(wanted.size, bool)
    for _ in range(_TURNS):
        slope = np.linalg.lstsq(given[keep], wanted[keep], rcond=None)[0]
        off = np.abs(wanted - given @ slope)
        keep = off <= _FAR * 1.4826 * np.median(off) + 1e-12
    return np.asarray(slope)
