"""A stored state reads back as it was, or not at all."""

from datetime import date

import numpy as np
import pytest

from apps.digesters.core.process.ensemble import MEMBERS
from apps.digesters.core.process.state_blob import (
    StateBlobUnreadable,
    inputs_hash,
    pack_state,
    unpack_state,
)
from apps.digesters.core.process.track import seeded

STORED = seeded("D-07", date(2030, 3, 1))


def test_round_trip_is_exact():
    blob = pack_state(STORED)
    again = unpack_state(blob)
    assert (again.digester, again.on, again.inputs_hash) == (
        "D-07",
        date(2030, 3, 1),
        STORED.inputs_hash,
    )
    np.testing.assert_array_equal(again.ensemble.state, STORED.ensemble.state)
    np.testing.assert_array_equal(again.ensemble.factors, STORED.ensemble.factors)
    assert pack_state(again) == blob
    assert again.ensemble.members == MEMBERS
    assert len(blob) < 5000


@pytest.mark.parametrize(
    "blob",
    [b"", b"DGST", b"nonsense" * 20, pack_state(STORED)[:-9], b"DGST\x02" + pack_state(STORED)[5:]],
)
def test_anything_else_is_refused(blob):
    with pytest.raises(StateBlobUnreadable, match="rebuild"):
        unpack_state(blob)


def test_hash_follows_the_inputs():
    assert inputs_hash("a", [1, "x"]) == inputs_hash("a", [1, "x"])
    assert len({inputs_hash("a", [1]), inputs_hash("b", [1]), inputs_hash("a", [2])}) == 3


def test_seeding_is_the_same_again_and_differs_by_digester():
    assert pack_state(seeded("D-07", date(2030, 3, 1))) == pack_state(STORED)
    other = seeded("D-08", date(2030, 3, 1))
    assert not np.array_equal(other.ensemble.factors, STORED.ensemble.factors)
