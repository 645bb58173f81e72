"""A database of its own for a benchmark that commits: made before, dropped after."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager

import django
from django.test.utils import setup_databases, teardown_databases


@contextmanager
def own_database() -> Iterator[str]:
    """Set Django up on an empty database beside the configured one; yields its vendor."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coordinator.settings")
    django.setup()
    before = setup_databases(verbosity=0, interactive=False, serialized_aliases=[])
    try:
        yield django.db.connection.vendor
    finally:
        teardown_databases(before, verbosity=0)
