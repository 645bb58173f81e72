"""The hidden year of a rehearsal, made again from its seed."""

from __future__ import annotations

from apps.feedstock.core.published import read_published
from apps.feedstock.queries.known_materials import known_materials
from apps.rehearsal.core.world import World, draw_world
from apps.rehearsal.models import Rehearsal
from apps.rehearsal.models.packing import unpack


def rehearsed_world(rehearsal: Rehearsal) -> World:
    """The same for the same row, whatever the neighbourhood has become since."""
    return draw_world(
        unpack(rehearsal.start),
        {**read_published(), **known_materials(rehearsal.group)},
        first_on=rehearsal.first_on,
        days=rehearsal.days,
        seed=rehearsal.seed,
    )
