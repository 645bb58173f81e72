"""Every page on a phone and on a desk: nothing sticks out, and axe finds nothing."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import Page

from apps.planning.models import Assignment, LeftOver, Plan
from tests.cast import Cast
from tests.journeys.conftest import OpenAs
from tests.journeys.looking import look
from tests.places.extracts import harbour
from tests.places.operations.test_import_streets import bring_in

pytestmark = pytest.mark.browser


def addresses(cast: Cast, draft: Plan) -> list[tuple[str, str]]:
    """Who looks at which address."""
    at = {"group": "harbour"}
    assignment = Assignment.objects.of(cast.group).filter(plan=draft).first()
    left = LeftOver.objects.of(cast.group).filter(plan=draft).first()
    assert assignment is not None
    assert left is not None
    why = reverse("assignment", kwargs={**at, "uuid": assignment.uuid})
    return [
        ("", "/"),
        ("", "/sign-in/"),
        ("", "/sign-in/sent/"),
        ("", "/sign-in/some-token/"),
        ("", "/nothing-here/"),
        ("ana", "/"),
        ("ana", "/new-group/"),
        ("ana", "/g/harbour/"),
        ("ana", "/g/harbour/people/"),
        ("ana", "/g/harbour/people/invite/"),
        ("ana", "/g/harbour/people/bruno/"),
        ("ana", "/g/harbour/people/bruno/leave/"),
        ("ana", "/g/harbour/materials/"),
        ("ana", "/g/harbour/materials/citrus_peel/"),
        ("ana", "/g/harbour/materials/add/"),
        ("ana", "/g/harbour/places/"),
        ("ana", "/g/harbour/places/quay/"),
        ("ana", "/g/harbour/streets/"),
        ("ana", "/g/harbour/sources/"),
        ("ana", "/g/harbour/sources/quay-stall/"),
        ("ana", "/g/harbour/sources/quay-stall/streams/quay-vegetables/"),
        ("ana", "/g/harbour/destinations/allotment-compost/"),
        ("ana", "/g/harbour/digesters/add/"),
        ("ana", "/g/harbour/digesters/duarte-drum/change/"),
        ("ana", "/g/harbour/digesters/duarte-drum/stage/"),
        ("ana", "/g/harbour/sheets/"),
        ("ana", "/g/harbour/sheets/streams/"),
        ("ana", "/g/harbour/settings/"),
        ("bruno", "/g/harbour/week/"),
        ("bruno", "/g/harbour/week/?by=home"),
        ("bruno", "/g/harbour/week/?by=day"),
        ("bruno", "/g/harbour/week/?by=left"),
        ("bruno", why),
        ("bruno", f"{why}?what=drop&digester=duarte-drum&on={draft.starts_on}"),
        ("bruno", f"{why}?what=move&digester=duarte-drum&on={draft.starts_on}&amount_g=x"),
        (
            "bruno",
            reverse("left-over", kwargs={**at, "version": draft.version, "uuid": left.uuid}),
        ),
        ("bruno", "/g/harbour/plans/"),
        ("bruno", f"/g/harbour/plans/{draft.version}/"),
        ("carla", "/g/harbour/digesters/"),
        ("carla", "/g/harbour/digesters/duarte-drum/"),
        ("bruno", "/g/harbour/rounds/"),
        ("bruno", "/g/harbour/carriers/"),
        ("bruno", "/g/harbour/carriers/graca/"),
        ("carla", "/g/harbour/map/"),
        ("carla", "/g/harbour/places/duarte-home/address/"),
        ("duarte", "/g/harbour/my-week/"),
        ("duarte", "/g/harbour/settings/"),
        ("filipe", "/g/harbour/my-week/"),
        ("outsider", "/g/hill/week/"),
        ("outsider", "/g/hill/digesters/"),
        ("outsider", "/g/hill/map/"),
        ("outsider", "/g/hill/sources/"),
    ]


def test_axe_and_width(
    open_as: OpenAs, neighbourhood: Cast, plans: tuple[Plan, Plan], live_server
) -> None:
    bring_in(neighbourhood, harbour())
    pages: dict[str, Page] = {}
    found = []
    for who, address in addresses(neighbourhood, plans[1]):
        if who not in pages:
            pages[who] = open_as(getattr(neighbourhood, who) if who else None, address)
        pages[who].goto(live_server.url + address)
        found += look(pages[who], address)
    assert not found
