"""From the tables of a district to an instance."""

from logistics.model.assembly.assembler import assemble, yard_options
from logistics.model.assembly.calibration import Realised, as_reckoned
from logistics.model.assembly.dominance import dominated
from logistics.model.assembly.policy import least_shares

__all__ = [
    "Realised",
    "as_reckoned",
    "assemble",
    "dominated",
    "least_shares",
    "yard_options",
]
