"""Read a stored model state back."""

from __future__ import annotations

from apps.digesters.core.process.state_blob import StateBlobUnreadable, StoredState, unpack_state
from apps.digesters.models import ModelState


def stored_state(row: ModelState) -> StoredState | None:
    """None where another version of the model wrote it; the next update makes it anew."""
    try:
        return unpack_state(bytes(row.blob))
    except StateBlobUnreadable:
        return None
