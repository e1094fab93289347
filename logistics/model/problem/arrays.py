"""Kinds of array that records hold, and how they are kept from being changed."""

from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]


def lock(record: object) -> None:
    """Make every array of a frozen record read-only."""
    for field in fields(record):  # type: ignore[arg-type]
        value = getattr(record, field.name)
        if isinstance(value, np.ndarray):
            value.flags.writeable = False
