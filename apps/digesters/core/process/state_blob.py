"""A digester's ensemble as bytes: versioned, with the hash of what it was made from.

Layout: b"DGST", a byte of format version, four bytes of header length (big-endian), the header as
JSON, then zlib of the figures as little-endian 32-bit floats: state, factors, gas since the last
look. Derived, never the truth: it can be rebuilt from feedings and readings.
"""

from __future__ import annotations

import hashlib
import json
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

import numpy as np

from apps.digesters.core.process.ensemble import FACTORS, Ensemble
from apps.digesters.core.process.state import STATE_ROWS

MAGIC: Final = b"DGST"
FORMAT_VERSION: Final = 1
# Raise when equations, constants or priors change: stored states are then rebuilt.
MODEL_VERSION: Final = 2
_LENGTH_BYTES: Final = 4


class StateBlobUnreadable(ValueError):
    """Bytes that are no state of this version; rebuild it from the records."""


@dataclass(frozen=True)
class StoredState:
    """One digester's ensemble at the end of a local day, and what it was made from."""

    digester: str
    on: date
    inputs_hash: str
    ensemble: Ensemble


def inputs_hash(previous: str, facts: Sequence[object]) -> str:
    """Hash of a day's inputs chained onto the day before: equal hashes, equal states."""
    text = json.dumps([MODEL_VERSION, previous, [repr(fact) for fact in facts]])
    return hashlib.sha256(text.encode()).hexdigest()


def rounded(ensemble: Ensemble) -> Ensemble:
    """The ensemble as it will read back, so that a run from storage equals an unbroken one."""
    return Ensemble(
        *(
            np.asarray(part, dtype="<f4").astype(float)
            for part in (ensemble.state, ensemble.factors, ensemble.gas_since)
        )
    )


def pack_state(stored: StoredState) -> bytes:
    """Bytes of one digester's state."""
    if stored.ensemble.digesters != 1:
        raise ValueError(f"Pack one digester at a time, not {stored.ensemble.digesters}.")
    header = json.dumps(
        {
            "model": MODEL_VERSION,
            "digester": stored.digester,
            "on": stored.on.isoformat(),
            "inputs": stored.inputs_hash,
            "members": stored.ensemble.members,
        },
        sort_keys=True,
    ).encode()
    figures = np.concatenate(
        [
            np.asarray(part, dtype="<f4").ravel()
            for part in (stored.ensemble.state, stored.ensemble.factors, stored.ensemble.gas_since)
        ]
    )
    length = len(header).to_bytes(_LENGTH_BYTES, "big")
    return MAGIC + bytes([FORMAT_VERSION]) + length + header + zlib.compress(figures.tobytes(), 1)


def unpack_state(blob: bytes) -> StoredState:
    """Read a state back; anything else raises StateBlobUnreadable."""
    start = len(MAGIC) + 1 + _LENGTH_BYTES
    try:
        if blob[: len(MAGIC)] != MAGIC or blob[len(MAGIC)] != FORMAT_VERSION:
            raise ValueError("another format")
        length = int.from_bytes(blob[len(MAGIC) + 1 : start], "big")
        header = json.loads(blob[start : start + length])
        if header["model"] != MODEL_VERSION:
            raise ValueError(f"made by model version {header['model']}")
        members = int(header["members"])
        figures = np.frombuffer(zlib.decompress(blob[start + length :]), "<f4").astype(float)
        state, factors, gas = np.split(
            figures, [STATE_ROWS * members, (STATE_ROWS + FACTORS) * members]
        )
        ensemble = Ensemble(
            state.reshape(STATE_ROWS, 1, members),
            factors.reshape(FACTORS, 1, members),
            gas.reshape(1, members),
        )
        return StoredState(
            header["digester"], date.fromisoformat(header["on"]), header["inputs"], ensemble
        )
    except (ValueError, KeyError, IndexError, TypeError, zlib.error) as reason:
        raise StateBlobUnreadable(
            f"The stored state cannot be read ({reason}); rebuild it from feedings and readings."
        ) from reason
