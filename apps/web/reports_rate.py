"""How many concerns one address may report without signing in; a smell of gas is always taken."""

from __future__ import annotations

import hashlib

from django.core.cache import cache
from django.utils.translation import gettext_lazy as _

from apps.kernel.errors import Refused

MOST_REPORTS = 6
WITHIN_S = 3600
"""Six an hour from one address, since a whole house may share one. Ours. Counted by each process
for itself where the cache is not shared; a group's own limit lies behind it."""


class TooManyReports(Refused):
    """One address reports again and again."""

    code = "too_many_reports"
    status = 429

    def __init__(self) -> None:
        super().__init__(
            _(
                "%(count)s reports came from your connection within an hour. Wait an hour, or tell "
                "a coordinator. A smell of gas is always taken: choose it on the page before."
            ),
            figures={"count": MOST_REPORTS},
        )


def check_reports(address: str) -> None:
    """Count one more, or raise `TooManyReports`. Only a hash of the address is kept."""
    name = f"reports-{hashlib.sha256(address.encode()).hexdigest()}"
    cache.add(name, 0, WITHIN_S)
    try:
        count = cache.incr(name)
    except ValueError:  # the hour ended between the two lines
        cache.set(name, 1, WITHIN_S)
        count = 1
    if count > MOST_REPORTS:
        raise TooManyReports
