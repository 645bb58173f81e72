"""What the tests of the API share."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.core.cache import cache


@pytest.fixture(autouse=True)
def _nobody_waits() -> Iterator[None]:
    """Refused tokens are counted by address, and all tests come from the same one."""
    cache.clear()
    yield
    cache.clear()
