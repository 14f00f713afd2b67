"""Names of the kinds of arrays that pass from room to room."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Truth = NDArray[np.bool_]
Times = NDArray[np.datetime64]
