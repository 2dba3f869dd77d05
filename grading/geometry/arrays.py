"""What numbers and shapes are held in, by name."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Region = shapely.Polygon | shapely.MultiPolygon
"""What is dug or paved, in one part or in several."""
