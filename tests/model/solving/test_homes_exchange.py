"""Own trucks exchanged between yards: the homes that are listed, and that it pays."""

from types import SimpleNamespace

import numpy as np

from logistics.model.solving.homes_exchange import exchanges


def test_two_yards_exchange_all_their_trucks():
    # type 0 may be at home at all yards, type 1 not at yard 2
    homes = SimpleNamespace(
        truck=np.array([0, 0, 0, 1, 1]), yard=np.array([0, 1, 2, 0, 1])
    )
    counts = np.array([1.0, 0.0, 2.0, 0.0, 3.0])
    found = [other.tolist() for other in exchanges(homes, counts)]
    assert found == [
        [0.0, 1.0, 2.0, 3.0, 0.0],  # yards 0 and 1
        [2.0, 0.0, 1.0, 0.0, 3.0],  # yards 0 and 2
        [1.0, 2.0, 0.0, 0.0, 3.0],  # yards 1 and 2
    ]
    assert list(exchanges(homes, np.ones(5))) == []
