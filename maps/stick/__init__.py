"""The memory stick: all that installs Loamhaul on a computer without internet."""

from maps.stick.stick import Order, write_stick
from maps.stick.targets import TARGETS

__all__ = ["TARGETS", "Order", "write_stick"]
