"""What the tests of rounds start from."""

from __future__ import annotations

import pytest

from tests.rounds.harbour import Harbour, make_harbour


@pytest.fixture
def harbour(db: None) -> Harbour:
    """Three pickups of tomorrow; Graça has a cart."""
    return make_harbour()
