"""The outer form of a PBF file, checked before anything is unpacked.

A file is a run of blocks: four bytes of length (big endian), a BlobHeader, a Blob (wiki page
"PBF Format", from memory). Only the fields that tell sizes are looked at, so that a small file
cannot unpack into more than the machine has.
"""

from __future__ import annotations

from collections.abc import Iterator

from apps.kernel.sentences import Sentence, gettext_noop
from apps.places.core.streets.unreadable import UnreadableExtract

MOST_BYTES = 20_000_000
"""As sent. A town is one to ten million bytes."""
MOST_UNPACKED_BYTES = 300_000_000
MOST_HEADER_BYTES = 64 * 1024
"""The format's own limit."""

_EMPTY = gettext_noop("The file is empty. Choose the .osm.pbf file again.")
_TOO_LARGE = gettext_noop(
    "The file has %(size)s million bytes; %(most)s million is the most. Cut a smaller extract "
    "around the neighbourhood."
)
_NOT_PBF = gettext_noop(
    "This is not an OpenStreetMap extract in the PBF form. Its name ends in .osm.pbf; an .osm or "
    "zipped file must be converted first."
)
_CUT_SHORT = gettext_noop(
    "The file ends in the middle; it was cut short on the way. Get it and send it again."
)


def check_blocks(data: bytes) -> None:
    """Raise `UnreadableExtract` unless `data` is a whole run of blocks within the limits."""
    if not data:
        raise UnreadableExtract(Sentence(_EMPTY))
    if len(data) > MOST_BYTES:
        raise UnreadableExtract(
            Sentence(
                _TOO_LARGE, {"size": -(-len(data) // 1_000_000), "most": MOST_BYTES // 1_000_000}
            )
        )
    unpacked = at = 0
    while at < len(data):
        size = int.from_bytes(data[at : at + 4], "big")
        header = data[at + 4 : at + 4 + size]
        if at == 0 and (not 0 < size <= MOST_HEADER_BYTES or b"OSMHeader" not in header):
            raise UnreadableExtract(Sentence(_NOT_PBF))
        if not 0 < size <= MOST_HEADER_BYTES or len(header) < size:
            raise UnreadableExtract(Sentence(_CUT_SHORT))
        blob_bytes = _number(header, 3)
        at += 4 + size
        blob = data[at : at + blob_bytes]
        if len(blob) < blob_bytes:
            raise UnreadableExtract(Sentence(_CUT_SHORT))
        unpacked += _number(blob, 2) or blob_bytes
        at += blob_bytes
        if unpacked > MOST_UNPACKED_BYTES:
            raise UnreadableExtract(
                Sentence(_TOO_LARGE, {
                    "size": -(-unpacked // 1_000_000), "most": MOST_UNPACKED_BYTES // 1_000_000,
                })
            )  # fmt: skip


def _number(message: bytes, wanted: int) -> int:
    """The whole number in a field of a protocol buffer, 0 when it is not there."""
    return next((value for field, value in _numbers(message) if field == wanted), 0)


def _numbers(message: bytes) -> Iterator[tuple[int, int]]:
    at = 0
    while at < len(message):
        key, at = _varint(message, at)
        value, at = _varint(message, at)
        if key & 7 == 0:
            yield key >> 3, value
        elif key & 7 == 2:  # bytes, of that length
            at += value
        else:
            return


def _varint(message: bytes, at: int) -> tuple[int, int]:
    value = shift = 0
    while at < len(message) and shift < 64:
        value |= (message[at] & 0x7F) << shift
        at += 1
        if not message[at - 1] & 0x80:
            break
        shift += 7
    return value, at
