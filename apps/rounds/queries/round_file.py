"""A stored round as a file that `python -m apps.rounds.verifier` reads."""

from __future__ import annotations

import json

from apps.rounds.models import Round

DOCUMENT = "application/json"


def round_file(found: Round) -> bytes:
    """As it was built or ordered last; no addresses are in it."""
    return json.dumps(found.document, indent=1, sort_keys=True).encode()


def round_file_name(found: Round) -> str:
    """By its day and its carrier."""
    return f"round-{found.on}-{found.carrier.member.code}.json"
