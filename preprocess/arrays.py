"""Names for the types of numpy arrays, for annotations; import them under TYPE_CHECKING only.

The types say what an array holds. Its shape and unit stand in the docstring of what takes it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
"""Lengths, energies and other quantities, of any shape."""

Floats32 = NDArray[np.float32]
"""Quantities in single precision: large images, which are held in half the memory."""

Points = NDArray[np.float64]
"""Places in the plane: n × 2."""

Integers = NDArray[np.int64]
"""Counts and numbers of rows, groups and cells."""

Integers32 = NDArray[np.int32]
"""The same where very many are kept for long."""

UnsignedIntegers = NDArray[np.uint64]
"""Mixtures of bits, by which equal things are found."""

Indices = NDArray[np.intp]
"""Places in another array, as numpy's own functions give them back."""

Booleans = NDArray[np.bool_]
"""Masks: which elements of another array are meant."""

Geometries = NDArray[np.object_]
"""shapely geometries, as its vectorised functions take them and give them back."""

Bytes = NDArray[np.bytes_]
"""Single letters, such as the commands of a path."""

Greys = NDArray[np.uint8]
"""Greys of cells: 0 is black, 255 white."""

PaletteCells = NDArray[np.uint8]
"""Colours of cells, as their numbers in a palette."""
