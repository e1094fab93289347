"""From the tables of a district to an instance."""

from logistics.model.assembly.assembler import Assembly, assemble, prepare, yard_options
from logistics.model.assembly.calibration import Realised, as_reckoned
from logistics.model.assembly.dominance import dominated
from logistics.model.assembly.policy import least_shares

__all__ = [
    "Assembly",
    "Realised",
    "as_reckoned",
    "assemble",
    "dominated",
    "least_shares",
    "prepare",
    "yard_options",
]
