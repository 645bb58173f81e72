"""Put a rehearsal's state into a row and take it out, only if it is what we put in."""

from __future__ import annotations

import hmac
import pickle
from typing import Any

from django.utils.crypto import salted_hmac

from apps.kernel.errors import Refused
from apps.kernel.words import gettext_noop

SALT = "apps.rehearsal.packing"
SIZE = 32
UNREADABLE = (
    pickle.UnpicklingError,
    AttributeError,
    EOFError,
    ImportError,
    IndexError,
    TypeError,
    ValueError,
)
"""What `pickle` raises where the classes have changed since."""


class StrangeState(Refused):
    """The stored state is not one that this service has written."""

    code = "strange_state"


def pack(value: Any) -> bytes:
    """The value with a seal of this service's secret key before it."""
    return seal(pickle.dumps(value))


def seal(data: bytes) -> bytes:
    """A seal, then the data."""
    return _seal(data) + data


def opened(packed: bytes) -> bytes:
    """The data, when its seal is ours: a foreign pickle could do anything."""
    data = bytes(packed)
    if not hmac.compare_digest(data[:SIZE], _seal(data[SIZE:])):
        raise StrangeState(
            gettext_noop("This rehearsal was stored by another service. Start it anew.")
        )
    return data[SIZE:]


def unpack(packed: bytes) -> Any:
    """What `pack` was given; raises `StrangeState` when an older service wrote it otherwise."""
    data = opened(packed)
    try:
        return pickle.loads(data)
    except UNREADABLE as error:
        raise StrangeState(
            gettext_noop("This rehearsal was stored by an older service. Start it anew.")
        ) from error


def _seal(data: bytes) -> bytes:
    return salted_hmac(SALT, data.hex(), algorithm="sha256").digest()
