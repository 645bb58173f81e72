"""Which sources and digesters are near enough to each other."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from apps.groups.models import Group
from apps.places.models import Place
from apps.places.queries.way_lengths import way_lengths_m


def pairs_within(
    group: Group, sources: Mapping[str, Place], digesters: Mapping[str, Place]
) -> dict[tuple[str, str], int]:
    """Way on foot in metres by (source, digester) within the group's reach, in the order of
    their codes."""
    codes, homes = sorted(sources), sorted(digesters)
    ways = way_lengths_m(
        group,
        [sources[code] for code in codes],
        [digesters[code] for code in homes],
        limit_m=group.reach_m,
    ).metres
    return {
        (codes[row], homes[column]): int(ways[row, column])
        for row, column in np.argwhere(ways <= group.reach_m)
    }
