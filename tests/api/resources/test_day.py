"""A day through the API: pickups, feeding, pictures, what sources have, what went wrong."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from apps.groups.models import Fact
from apps.ledger.models import Posting, PostingKind
from apps.people.models import Member, Role, User
from apps.people.operations.add_member import add_member
from apps.pickups.models import Pickup, PickupEvent
from apps.pickups.operations.sync_pickups import sync_pickups
from apps.planning.models import Plan
from apps.planning.operations.announce_plan import announce_plan
from apps.planning.operations.make_plan import make_plan
from apps.supply.models import Offer
from tests.api.caller import Caller
from tests.cast import Cast, make_cast
from tests.pickups.plans import write_plan
from tests.remembered import remembered

pytestmark = pytest.mark.django_db

DRUM = "/digesters/duarte-drum"


@pytest.fixture
@remembered
def cast(db: None) -> Cast:
    """With one pickup for Duarte at the quay and one for Elsa at the school, tomorrow."""
    cast = make_cast(datetime.now(UTC) - timedelta(seconds=2), history_days=3)
    plan = write_plan(
        cast,
        [
            (cast.vegetables, cast.drum, 0, 3_000),
            (cast.citrus, cast.drum, 0, 400),
            (cast.peelings, cast.dome, 0, 2_000),
        ],
    )
    sync_pickups(plan, now=cast.now)
    return cast


def where(cast: Cast, step: str = "") -> str:
    """Duarte's pickup."""
    pickup = Pickup.objects.of(cast.group).get(digester=cast.drum)
    return f"/pickups/{pickup.uuid}{'/' if step else ''}{step}"


def let_its_day_come(cast: Cast) -> None:
    """Duarte's pickup is today's; nothing can be fetched before its day."""
    Pickup.objects.of(cast.group).filter(digester=cast.drum).update(on=cast.today)


def tomorrow(cast: Cast) -> str:
    return (cast.today + timedelta(days=1)).isoformat()


def test_each_lists_the_pickups_that_are_theirs(cast: Cast) -> None:
    def seen(member: Member) -> list[str]:
        rows = Caller(member).get(f"/pickups?on={tomorrow(cast)}").data["results"]
        return [row["digester"] for row in rows]

    assert seen(cast.duarte) == ["duarte-drum"]
    assert seen(cast.elsa) == ["elsa-dome"]
    assert seen(cast.filipe) == ["duarte-drum"]
    assert seen(cast.graca) == []
    assert sorted(seen(cast.carla)) == sorted(seen(cast.bruno)) == ["duarte-drum", "elsa-dome"]
    assert Caller(cast.carla).get("/pickups").data["results"] == []


def test_one_pickup_shows_lines_weights_steps_and_the_address_of_its_source(cast: Cast) -> None:
    one = Caller(cast.duarte).get(where(cast)).data
    assert [line["planned_g"] for line in one["lines"]] == [400, 3_000]
    assert (one["planned_g"], one["fetcher_g"], one["is_contested"]) == (3_400, None, False)
    assert one["address"]["street"] == "Quay Lane 1"
    assert one["events"] == []


@pytest.mark.parametrize(
    ("step", "body"),
    [
        ("acceptance", {}),
        ("decline", {"reason": "ill"}),
        ("collection", {}),
        ("completion", {}),
        ("failure", {"reason": "nobody_there"}),
    ],
)
def test_a_step_is_for_its_own_people_and_has_one_effect(
    cast: Cast, step: str, body: dict[str, Any]
) -> None:
    let_its_day_come(cast)
    address = where(cast, step)
    assert Caller(cast.elsa).post(address, body).status_code == 404
    assert Caller(cast.graca).post(address, body).status_code == 404
    assert Caller(cast.bruno).post(address, body).status_code == 403
    assert Caller(cast.outsider).post(f"/api/v1/groups/harbour{address}", body).status_code == 404
    duarte = Caller(cast.duarte)
    assert duarte.call("POST", address, body, key="").status_code == 400
    first = duarte.post(address, body, key="tap")
    assert first.status_code == 200, first.data
    assert duarte.post(address, body, key="tap").data == first.data
    assert PickupEvent.objects.of(cast.group).count() == 1
    pickups = Posting.objects.of(cast.group).filter(client_key__startswith="pickup-")
    assert pickups.count() == (step == "completion")


def test_a_coordinator_acts_in_place_of_a_household_and_it_shows(cast: Cast) -> None:
    carla = Caller(cast.carla)
    assert carla.post(where(cast, "acceptance"), {}).status_code == 200
    [event] = carla.get(where(cast)).data["events"]
    assert (event["by"], event["acted_for"]) == ("carla", "duarte")


def test_a_step_from_the_wrong_state_or_revision_is_refused_in_words(cast: Cast) -> None:
    duarte = Caller(cast.duarte)
    old = duarte.post(where(cast, "acceptance"), {"revision": 7})
    assert (old.status_code, old.data["code"]) == (409, "pickup_changed")
    duarte.post(where(cast, "decline"), {"reason": "away"})
    late = duarte.post(where(cast, "completion"), {})
    assert (late.status_code, late.data["code"]) == (409, "step_refused")
    wrong = duarte.post(where(cast, "failure"), {"reason": "whatever"})
    assert (wrong.status_code, wrong.data["errors"][0]["field"]) == (422, "reason")


def test_an_unusual_weight_is_asked_again_and_both_sides_see_both_weights(cast: Cast) -> None:
    early = Caller(cast.duarte).post(where(cast, "completion"), {})
    assert (early.status_code, early.data["code"]) == (422, "not_yet")
    let_its_day_come(cast)
    duarte, filipe = Caller(cast.duarte), Caller(cast.filipe)
    lines = {row["stream"]: row["uuid"] for row in duarte.get(where(cast)).data["lines"]}
    heavy = {"line": lines["quay-vegetables"], "collected_g": 9_000, "delivered_g": 8_000}
    body: dict[str, Any] = {"weights": [heavy]}
    # three times the 3 kg that were planned
    asked = duarte.post(where(cast, "completion"), body, key="one")
    assert (asked.status_code, asked.data["code"]) == (409, "weight_unusual")
    twice = duarte.post(where(cast, "completion"), {"weights": [heavy, heavy]})
    assert (twice.status_code, twice.data["errors"][0]["field"]) == (422, "weights")
    body["is_confirmed"] = True
    done = duarte.post(where(cast, "completion"), body, key="one")
    assert (done.data["state"], done.data["fetcher_g"]) == ("delivered", 9_400)
    said = filipe.post(where(cast, "giver-weight"), {"amount_g": 6_000})
    assert (said.data["giver_g"], said.data["is_contested"]) == (6_000, True)
    assert duarte.get(where(cast)).data["is_contested"] is True
    assert duarte.post(where(cast, "giver-weight"), {"amount_g": 1}).status_code == 403


def test_a_source_contact_says_that_nobody_came_but_does_not_accept(cast: Cast) -> None:
    filipe = Caller(cast.filipe)
    assert filipe.post(where(cast, "acceptance"), {}).status_code == 403
    failed = filipe.post(where(cast, "failure"), {"reason": "nobody_came"})
    assert failed.data["state"] == "failed"


def test_the_next_home_takes_over_in_one_call(db: None) -> None:
    cast = make_cast(datetime.now(UTC) - timedelta(seconds=2), history_days=14)
    cast.group.air_normals_c = [20] * 12  # as much room at any time of the year
    cast.group.save()
    plan = make_plan(cast.group, now=cast.now)
    announce_plan(plan, now=cast.now, announced_by=cast.bruno)
    bruno = Caller(cast.bruno)
    asked = {
        pickup: bruno.get(f"/pickups/{pickup.uuid}/next-homes").data["results"]
        for pickup in Pickup.objects.of(cast.group).select_related("digester")
    }
    pickup, homes = next((each, found) for each, found in asked.items() if found)
    assert homes[0]["effects"]
    assert 0 < homes[0]["amount_g"] <= homes[0]["whole_g"]
    where_to = f"/pickups/{pickup.uuid}/reassignment"
    body = {"digester": homes[0]["digester"], "amount_g": homes[0]["amount_g"]}
    assert Caller(cast.duarte).post(where_to, body).status_code == 403
    assert Caller(cast.duarte).get(f"/pickups/{pickup.uuid}/next-homes").status_code == 403
    assert bruno.post(where_to, {**body, "digester": "nobodys"}).status_code == 422
    same = bruno.post(where_to, {"digester": pickup.digester.code})
    assert (same.status_code, same.data["code"]) == (409, "cannot_reassign")
    done = bruno.post(where_to, body, key="tap")
    assert (done.status_code, done.data["plan"]) == (200, plan.version + 1), done.data
    assert bruno.post(where_to, body, key="tap").data == done.data
    assert Plan.objects.of(cast.group).count() == 2
    pickup.refresh_from_db()
    assert pickup.state == "withdrawn"


def test_feeding_by_the_recipe_once(cast: Cast) -> None:
    duarte = Caller(cast.duarte)
    recipe = duarte.get(f"{DRUM}/recipe").data
    # What the cast said: half a kilogram of own kitchen waste a day; the plan begins tomorrow.
    assert recipe["own_waste"] == [{"material": "household_kitchen", "amount_g": 500}]
    assert recipe["is_planned"] is False
    first = duarte.post(f"{DRUM}/feedings/by-recipe", {}, key="tap")
    assert first.status_code == 201, first.data
    assert first.data["portions"] == recipe["own_waste"]
    assert duarte.post(f"{DRUM}/feedings/by-recipe", {}, key="tap").data == first.data
    fed = Posting.objects.of(cast.group).filter(kind=PostingKind.FEEDING, on=cast.today)
    assert fed.count() == 1
    assert Caller(cast.elsa).post(f"{DRUM}/feedings/by-recipe", {}).status_code == 404
    by_carla = Caller(cast.carla).post(f"{DRUM}/feedings/by-recipe", {"is_confirmed": True})
    assert by_carla.data["note"] == "for: duarte"


def test_the_picture_shows_gas_spare_capacity_and_the_week(cast: Cast) -> None:
    duarte = Caller(cast.duarte)
    assert duarte.get(f"{DRUM}/picture").data["gas"] is None
    reading = {"kind": "drum_height_mm", "value": 450, "taken_at": cast.now.isoformat()}
    assert duarte.post(f"{DRUM}/readings", reading).status_code == 201
    seen = duarte.get(f"{DRUM}/picture").data
    # a drum at half of its stop of 900 mm
    assert seen["gas"]["height_share"] == 0.5
    assert seen["gas"]["minutes"] > 0
    assert len(seen["fed"]) == 7
    assert [len(day["pickups"]) for day in seen["coming"]] == [0, 1, 0, 0, 0, 0, 0]
    assert 0 <= seen["spare_g"] <= seen["headroom_g"]
    assert seen["binding"]["sentence"]
    assert Caller(cast.elsa).get(f"{DRUM}/picture").status_code == 404


def test_a_source_says_its_day_in_one_call(cast: Cast) -> None:
    filipe, on = Caller(cast.filipe), tomorrow(cast)
    quay = "/sources/quay-stall"
    body = {"on": on, "amounts": [{"stream": "quay-vegetables", "amount_g": 5_000}]}
    said = filipe.post(f"{quay}/offers", body)
    assert [row["amount_g"] for row in said.data["offers"]] == [5_000]
    day = filipe.get(f"{quay}/day?on={on}").data
    expected = {row["stream"]: row["amount_g"] for row in day["expected"]}
    assert expected["quay-vegetables"] == 5_000
    assert (day["promised_g"], len(day["pickups"])) == (3_400, 1)
    much = {**body, "amounts": [{"stream": "quay-vegetables", "amount_g": 900_000}]}
    asked = filipe.post(f"{quay}/offers", much)
    assert (asked.status_code, asked.data["code"]) == (409, "unusual_offer")
    foreign = {**body, "amounts": [{"stream": "ines-grass", "amount_g": 1}]}
    assert filipe.post(f"{quay}/offers", foreign).status_code == 422
    nothing = filipe.post(f"{quay}/offers/nothing", {"on": on})
    assert {row["amount_g"] for row in nothing.data["offers"]} == {0}
    # The cast's stall gave 2 + 3.5 kg of vegetables yesterday.
    again = filipe.post(f"{quay}/offers/repeat", {}, key="tap")
    assert [row["amount_g"] for row in again.data["offers"]] == [5_500]
    assert filipe.post(f"{quay}/offers/repeat", {}, key="tap").data == again.data
    assert Offer.objects.of(cast.group).filter(on=cast.today).count() == 1
    assert filipe.get("/sources/ines-garden/day").status_code == 404
    assert filipe.post("/sources/ines-garden/offers/nothing", {}).status_code == 404
    assert Caller(cast.duarte).get(f"{quay}/day").status_code == 403


def test_the_month_of_a_source_is_the_ledgers(cast: Cast) -> None:
    month = Caller(cast.filipe).get("/sources/quay-stall/month").data
    # three days of 2 kg to Duarte and 3.5 kg to Elsa in the cast's history
    assert [row["amount_g"] for row in month["by_home"]] == [10_500, 6_000]
    assert (month["collected_g"], month["set_aside_g"]) == (16_500, 0)


def test_exceptions_name_their_repairs(cast: Cast) -> None:
    carla = Caller(cast.carla)
    rows = carla.get("/exceptions").data["results"]
    waiting = [row for row in rows if row["kind"] == "not_answered"]
    assert {row["digester"] for row in waiting} == {"duarte-drum", "elsa-dome"}
    assert "reassign_pickup" in waiting[0]["repairs"]
    Caller(cast.duarte).post(where(cast, "decline"), {"reason": "ill"})
    [homeless] = [
        row for row in carla.get("/exceptions").data["results"] if row["kind"] == "without_home"
    ]
    assert homeless["pickup"] == where(cast).rpartition("/")[2]
    assert Caller(cast.duarte).get("/exceptions").status_code == 403


def test_people_who_hold_several_roles_act_for_themselves_first(cast: Cast) -> None:
    user = User.objects.create_user("lia@example.org", name="Lia")
    lia = add_member(
        cast.group,
        code="lia",
        name="Lia",
        roles=[Role.COORDINATOR, Role.HOUSEHOLDER],
        user=user,
    )
    cast.drum.household = lia
    cast.drum.save()
    assert Caller(lia).post(where(cast, "acceptance"), {}).status_code == 200
    event = PickupEvent.objects.of(cast.group).get()
    assert (event.by, event.acted_for) == (lia, None)
    assert Fact.objects.of(cast.group).filter(kind="pickup_accepted").count() == 1
