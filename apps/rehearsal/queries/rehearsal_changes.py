"""From what a coordinator wants to try to a change of the neighbourhood."""

from __future__ import annotations

from datetime import date

from apps.groups.models import Group
from apps.places.models import Place
from apps.rehearsal.core.neighbourhood import Away, Change, GivenHome, GivenSource
from apps.rehearsal.core.supply import GivenStream
from apps.rehearsal.queries.read_neighbourhood import on_plane, read_neighbourhood

PLATE_KG_PER_M3, PLATE_L_PER_KG = 2.5, 10 / 3
"""kg waste a m3 and day, and litres of slurry a kg: common practice, no source."""
OWN_WASTE_G = 600


def tried_change(
    group: Group,
    *,
    canteen_place: Place | None = None,
    canteen_g: int = 0,
    canteen_material: str = "household_kitchen",
    digester_place: Place | None = None,
    digester_ml: int = 0,
    homes_away: int = 0,
    away_first_on: date | None = None,
    away_last_on: date | None = None,
) -> Change:
    """A canteen that gives `canteen_g` on working days, a digester of `digester_ml`, and the
    first `homes_away` homes by code away for some days; any of them."""
    south = min(
        (float(latitude) for latitude in
         Place.objects.of(group).values_list("latitude", flat=True)),
        default=0.0,
    )  # fmt: skip
    change: dict[str, tuple[object, ...]] = {}
    if canteen_place is not None and canteen_g:
        change["sources"] = (GivenSource("new-canteen", *on_plane(canteen_place, south)),)
        change["streams"] = (
            GivenStream(
                "new-canteen-stream", "new-canteen", "canteen", canteen_material,
                (canteen_g,) * 5 + (0, 0), 0.25, 0, 2,
            ),
        )  # fmt: skip
    if digester_place is not None and digester_ml:
        plate_g = round(digester_ml * PLATE_KG_PER_M3 / 1000)
        change["joining"] = (
            GivenHome(
                "new-digester", *on_plane(digester_place, south), digester_ml, plate_g,
                round(plate_g * PLATE_L_PER_KG), OWN_WASTE_G, 3 * plate_g,
            ),
        )  # fmt: skip
    if homes_away and away_first_on and away_last_on:
        homes = read_neighbourhood(group).homes[:homes_away]
        change["away"] = tuple(Away(home.code, away_first_on, away_last_on) for home in homes)
    return Change(**change)  # type: ignore[arg-type]
