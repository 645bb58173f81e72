"""How many refused tokens one address may send; then it waits, whatever it sends."""

from __future__ import annotations

import hashlib

from django.core.cache import cache
from django.utils.translation import gettext as _
from rest_framework.exceptions import Throttled

MOST_REFUSED = 20
WITHIN_S = 60
"""Twenty refused tokens an address in a minute: our own choice, no source. Counted by each
process for itself where the cache is not shared."""


class TooManyBadTokens(Throttled):
    """Somebody tries one token after another."""

    def __init__(self) -> None:
        super().__init__(wait=WITHIN_S)
        self.detail = _(
            "%(count)s tokens from your address were refused within a minute. Wait a minute, and "
            "look at the token."
        ) % {"count": MOST_REFUSED}


def check_address(address: str) -> None:
    """Raise `TooManyBadTokens`; no token is looked up then."""
    if cache.get(_name(address), 0) >= MOST_REFUSED:
        raise TooManyBadTokens


def count_refused(address: str) -> None:
    """One more; the minute begins with the first."""
    cache.add(_name(address), 0, WITHIN_S)
    try:
        cache.incr(_name(address))
    except ValueError:
        # The minute ended between the two lines.
        cache.set(_name(address), 1, WITHIN_S)


def _name(address: str) -> str:
    return f"bad-tokens-{hashlib.sha256(address.encode()).hexdigest()}"
