"""The cast, saved once for the files of this folder; every test undoes what it changes."""

from __future__ import annotations

import copy
from collections.abc import Iterator

import pytest
from django.db import transaction
from pytest_django import DjangoDbBlocker

from tests.cast import Cast, make_cast


@pytest.fixture(scope="module")
def saved_cast(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Cast]:
    with django_db_blocker.unblock(), transaction.atomic():
        yield make_cast(history_days=7)
        transaction.set_rollback(True)


@pytest.fixture
def cast(saved_cast: Cast, db: None) -> Cast:
    return copy.deepcopy(saved_cast)
