"""The fine raster of a screen or of printing ink: a pattern whose colours repeat out of step.

No plate has one: lines of a buff and grain are alike in all colours.
"""

from __future__ import annotations

import numpy as np

from argentry import trade
from argentry.arrays import Floats

_SIDE_PX = 512  # of the part in the middle that is looked at
_SLOW = 0.12  # cycles a pixel: what is slower belongs to the picture
_NEAR = 2  # of the spectrum's own steps, about a peak
_FLOOR = 0.01
_OUT_OF_STEP = 0.7  # of its light, a wave's colour: 0 where colours are in step, 2 a third apart


def has_raster(plate: Floats) -> bool:
    """Return True where much of the fine change of colour lies in one single wave.

    Parameters
    ----------
    plate : ndarray, shape (rows, columns, 3)
        The plate straightened, linear.
    """
    side = min(_SIDE_PX, *plate.shape[:2])
    top, left = ((one - side) // 2 for one in plate.shape[:2])
    logs = np.log(np.maximum(plate[top : top + side, left : left + side], 0.0) + _FLOOR)
    window = np.hanning(side)
    red, green, blue = (
        np.fft.rfft2((one - one.mean()) * window[:, None] * window)
        for one in np.moveaxis(logs, 2, 0)
    )
    power = np.abs(red - green) ** 2 + np.abs(blue - green) ** 2
    down, across = np.fft.fftfreq(side), np.fft.rfftfreq(side)
    power[np.hypot(down[:, None], across) < _SLOW] = 0.0
    row, column = np.unravel_index(int(power.argmax()), power.shape)
    rows = np.arange(row - _NEAR, row + _NEAR + 1) % side
    peak = rows, slice(max(0, column - _NEAR), column + _NEAR + 1)
    own = power[peak].sum()
    light = sum((np.abs(one[peak]) ** 2).sum() for one in (red, green, blue))
    share = trade.value("seeing", "raster_share")
    return bool(own > share * power.sum() > 0.0 and own > _OUT_OF_STEP * light)
