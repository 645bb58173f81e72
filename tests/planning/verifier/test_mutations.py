"""A sound plan passes; broken in every way the verifier should notice, it does not."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.planning.verifier import verify
from tests.planning.small_plan import small_document

Document = dict[str, Any]
SOUND: Document = json.loads(json.dumps(small_document()))

DAY_0, DAY_1, DAY_2 = SOUND["days"]


def row(document: Document, table: str, **fields: Any) -> dict[str, Any]:
    found = [each for each in document[table] if all(each[key] == fields[key] for key in fields)]
    assert len(found) == 1, (table, fields)
    return found[0]


def drop(document: Document, table: str, **fields: Any) -> None:
    document[table].remove(row(document, table, **fields))


def set_amount(document: Document, batch: str, placed_g: int, fed_g: dict[str, int]) -> None:
    """A batch's placement and its feeds, by date, both changed."""
    row(document, "placements", batch=batch)["amount_g"] = placed_g
    for on, amount_g in fed_g.items():
        row(document, "feeds", lot=batch, on=on)["amount_g"] = amount_g


def move_day(document: Document, batch: str, on: str) -> None:
    row(document, "placements", batch=batch)["on"] = on


def move_home(document: Document, batch: str, digester: str) -> None:
    row(document, "placements", batch=batch)["digester"] = digester
    for feed in document["feeds"]:
        if feed["lot"] == batch:
            feed["digester"] = digester


def collected_before_ready(d: Document) -> None:
    move_day(d, "M2", DAY_0)


def a_handful_beside_a_full_pail(d: Document) -> None:
    d["rules"]["smallest_part_g"] = 10**6
    for digester in d["digesters"]:
        digester["min_pickup_g"] = min(
            p["amount_g"] for p in d["placements"] if p["digester"] == digester["code"]
        )
    placed = next(
        p for p in d["placements"] if row(d, "batches", code=p["batch"])["amount_g"] > p["amount_g"]
    )
    row(d, "digesters", code=placed["digester"])["min_pickup_g"] = placed["amount_g"] + 1


def collected_too_late(d: Document) -> None:
    move_day(d, "M1", DAY_1)


def fed_after_its_shelf_life(d: Document) -> None:
    row(d, "feeds", lot="J1")["on"] = DAY_2


def fed_before_collection(d: Document) -> None:
    row(d, "feeds", lot="M2", on=DAY_1)["on"] = DAY_0


def fed_more_than_collected(d: Document) -> None:
    row(d, "feeds", lot="J2")["amount_g"] += 1


def fed_less_than_collected(d: Document) -> None:
    row(d, "feeds", lot="J2")["amount_g"] -= 1


def fed_something_unknown(d: Document) -> None:
    row(d, "feeds", lot="J2")["lot"] = "GHOST"


def stock_fed_at_another_home(d: Document) -> None:
    row(d, "feeds", lot="NORTH-4-BIN")["digester"] = "SOUTH-9"


def stock_fed_after_its_time(d: Document) -> None:
    row(d, "feeds", lot="NORTH-4-BIN")["on"] = DAY_1


def stock_fed_twice_over(d: Document) -> None:
    row(d, "feeds", lot="NORTH-4-BIN")["amount_g"] = 701


def batch_given_away_twice(d: Document) -> None:
    set_amount(d, "M2", 601, {DAY_1: 300, DAY_2: 301})


def crate_divided(d: Document) -> None:
    set_amount(d, "B1", 1_000, {DAY_1: 500, DAY_2: 500})


def plan_over_feed(d: Document) -> None:
    row(d, "digester_days", digester="NORTH-4", on=DAY_0)["plan_feed_g"] = 3_699


def plan_over_vs(d: Document) -> None:
    row(d, "digester_days", digester="NORTH-4", on=DAY_0)["plan_vs_g"] = 554


def plan_over_slurry(d: Document) -> None:
    row(d, "digester_days", digester="NORTH-4", on=DAY_0)["plan_slurry_ml"] = 9_249


def maximum_over_feed(d: Document) -> None:
    row(d, "digester_days", digester="NORTH-4", on=DAY_0)["max_feed_g"] = 4_699


def maximum_over_vs(d: Document) -> None:
    row(d, "digester_days", digester="NORTH-4", on=DAY_0)["max_vs_g"] = 704


def maximum_over_slurry(d: Document) -> None:
    row(d, "digester_days", digester="NORTH-4", on=DAY_0)["max_slurry_ml"] = 11_749


def own_waste_forgotten_in_maximum(d: Document) -> None:
    row(d, "digester_days", digester="NORTH-4", on=DAY_0)["own_waste"][0]["amount_g"] = 1_901


def all_fed_in_one_day(d: Document) -> None:
    """4,500 + 700 g beside a limit of 4,000 g."""
    drop(d, "feeds", lot="M1", on=DAY_1)
    row(d, "feeds", lot="M1", on=DAY_0)["amount_g"] = 4_500


def too_much_citrus(d: Document) -> None:
    drop(d, "feeds", lot="M2", on=DAY_2)
    row(d, "feeds", lot="M2", on=DAY_1)["amount_g"] = 500


def too_much_citrus_by_mass(d: Document) -> None:
    north = row(d, "digesters", code="NORTH-4")
    north["share_caps"] = [{"group": "citrus", "share_ppm": 166_666, "basis": "mass"}]


def bin_too_small(d: Document) -> None:
    """700 g of stock and 4,500 g that arrive."""
    row(d, "digesters", code="NORTH-4")["bin_g"] = 5_199


def bin_too_small_for_trimmed_waste(d: Document) -> None:
    """1,080 g usable and 900 g."""
    row(d, "digesters", code="SOUTH-9")["bin_g"] = 1_979


def bin_too_small_for_a_good_day(d: Document) -> None:
    """700 g of stock and 4,500 g of 5,000 g that may be 5,334 g: 5,500.6 g in a bin of 5,500 g."""
    row(d, "batches", code="M1")["high_g"] = 5_334


def hunger_of_a_poor_day_hushed_up(d: Document) -> None:
    """Of 1,155 g VS for North lane 675 g hang on M1; with two fifths of it 750 g surely come,
    150 g less than its minimum."""
    row(d, "batches", code="M1")["low_g"] = 2_000


def low_figure_above_the_high_one(d: Document) -> None:
    row(d, "batches", code="M1").update(low_g=5_001, high_g=5_000)


def carried_too_much(d: Document) -> None:
    row(d, "digesters", code="NORTH-4")["carry_limit_g"] = 4_499


def pickup_too_small(d: Document) -> None:
    set_amount(d, "M2", 499, {DAY_1: 300, DAY_2: 199})


def too_many_visits(d: Document) -> None:
    row(d, "digesters", code="SOUTH-9")["max_visits_per_day"] = 1


def too_many_homes(d: Document) -> None:
    row(d, "sources", code="BAKERY")["max_homes_per_day"] = 0


def out_of_reach(d: Document) -> None:
    drop(d, "pairs", source="JUICE", digester="NORTH-4")


def farther_than_reach(d: Document) -> None:
    d["rules"]["reach_m"] = 299


def hours_do_not_meet(d: Document) -> None:
    row(d, "pairs", source="JUICE", digester="NORTH-4")["meets_on"].remove(DAY_2)


def closed_on_the_day(d: Document) -> None:
    row(d, "sources", code="MARKET")["hours"][DAY_0] = []


def hours_only_touch(d: Document) -> None:
    row(d, "sources", code="MARKET")["hours"][DAY_0] = [["07:00", "12:00"]]


def material_refused(d: Document) -> None:
    row(d, "digesters", code="NORTH-4")["accepts"].remove("citrus")


def ban_ignored(d: Document) -> None:
    move_home(d, "M1", "SOUTH-9")


def ban_of_one_day_ignored(d: Document) -> None:
    d["bans"].append({"source": "JUICE", "digester": "NORTH-4", "on": DAY_2})


def pin_forgotten(d: Document) -> None:
    drop(d, "placements", batch="B1")
    d["feeds"] = [each for each in d["feeds"] if each["lot"] != "B1"]


def pinned_amount_changed(d: Document) -> None:
    d["pins"].append({"batch": "J2", "digester": "NORTH-4", "on": DAY_2, "amount_g": 2_001})


def started_pickup_dropped(d: Document) -> None:
    drop(d, "placements", batch="J1")
    drop(d, "feeds", lot="J1")


def started_pickup_enlarged_without_right(d: Document) -> None:
    """Beyond what was begun, hours count again."""
    row(d, "started", batch="J1")["amount_g"] = 899


def left_over_hushed_up(d: Document) -> None:
    drop(d, "left_over", lot="M1")


def left_over_too_little(d: Document) -> None:
    row(d, "left_over", lot="M1")["amount_g"] -= 1


def left_over_invented(d: Document) -> None:
    d["left_over"].append(row(d, "left_over", lot="M1") | {"lot": "J2", "amount_g": 5})


def placement_listed_twice(d: Document) -> None:
    d["placements"].append(dict(row(d, "placements", batch="J2")))


def feed_listed_twice(d: Document) -> None:
    d["feeds"].append(dict(row(d, "feeds", lot="J2")))


def wish_prettier_than_true(d: Document) -> None:
    row(d, "wishes", name="shortfall_vs_mg")["value"] -= 1


def wish_left_out(d: Document) -> None:
    drop(d, "wishes", name="unsteady_trips")


def wishes_out_of_order(d: Document) -> None:
    d["wishes"].reverse()


def bound_above_value(d: Document) -> None:
    row(d, "wishes", name="carrying_g_m")["bound"] = 1e12


def bound_not_a_number(d: Document) -> None:
    row(d, "wishes", name="carrying_g_m")["bound"] = float("nan")


def usable_overstated(d: Document) -> None:
    row(d, "feeds", lot="B1", on=DAY_1)["usable_g"] = 600


def citrus_called_peelings(d: Document) -> None:
    row(d, "feeds", lot="M2", on=DAY_1)["material"] = "peelings"


def recipe_drowns_the_tank(d: Document) -> None:
    d["recipes"][0]["water_ml"] = 5_601


def destination_overrun(d: Document) -> None:
    """M1's 500 g on its day."""
    d["destinations"][0]["capacity_g_per_day"] = 499


def destination_unknown(d: Document) -> None:
    row(d, "left_over", lot="M1")["destination_code"] = "MOON"


def destination_a_day_late(d: Document) -> None:
    row(d, "left_over", lot="M1")["goes_on"] = DAY_1


def half_grams(d: Document) -> None:
    row(d, "placements", batch="J2")["amount_g"] = 2_000.5


def negative_amount(d: Document) -> None:
    row(d, "feeds", lot="J2")["amount_g"] = -2_000


def empty_placement(d: Document) -> None:
    row(d, "placements", batch="J2")["amount_g"] = 0


def unknown_digester(d: Document) -> None:
    row(d, "placements", batch="J2")["digester"] = "EAST-1"


def outside_the_horizon(d: Document) -> None:
    move_day(d, "J2", "2027-03-04")


def maximum_missing(d: Document) -> None:
    drop(d, "digester_days", digester="SOUTH-9", on=DAY_1)


def another_schema(d: Document) -> None:
    d["schema_version"] = 2


def list_missing(d: Document) -> None:
    del d["feeds"]


def field_missing(d: Document) -> None:
    del row(d, "pairs", source="JUICE", digester="NORTH-4")["meets_on"]


def stall_forgotten(d: Document) -> None:
    """Nobody ever came to the juice stall, there is room, and still nobody comes."""
    d["started"] = []
    for batch in ("J1", "J2"):
        drop(d, "placements", batch=batch)
        drop(d, "feeds", lot=batch)
    row(d, "pairs", source="JUICE", digester="SOUTH-9")["meets_on"].insert(1, DAY_1)


def trips_said_to_be_dearer(d: Document) -> None:
    d["rules"]["trip_g_m"] += 1


def trips_that_pay(d: Document) -> None:
    d["rules"]["trip_g_m"] = -1


MUTATIONS: list[tuple[Callable[[Document], None], str]] = [
    (collected_before_ready, "collect_window"),
    (collected_too_late, "collect_window"),
    (a_handful_beside_a_full_pail, "smallest_part"),
    (fed_after_its_shelf_life, "shelf_life"),
    (fed_before_collection, "feed_of_nothing"),
    (fed_more_than_collected, "feed_of_nothing"),
    (fed_less_than_collected, "collected_not_fed"),
    (fed_something_unknown, "feed_of_nothing"),
    (stock_fed_at_another_home, "feed_of_nothing"),
    (stock_fed_after_its_time, "shelf_life"),
    (stock_fed_twice_over, "feed_of_nothing"),
    (batch_given_away_twice, "batch_amount"),
    (crate_divided, "indivisible"),
    (plan_over_feed, "plan_feed"),
    (plan_over_vs, "plan_vs"),
    (plan_over_slurry, "plan_slurry"),
    (maximum_over_feed, "max_feed"),
    (maximum_over_vs, "max_vs"),
    (maximum_over_slurry, "max_slurry"),
    (own_waste_forgotten_in_maximum, "max_feed"),
    (all_fed_in_one_day, "plan_feed"),
    (too_much_citrus, "share_cap"),
    (too_much_citrus_by_mass, "share_cap"),
    (bin_too_small, "bin"),
    (bin_too_small_for_trimmed_waste, "bin"),
    (bin_too_small_for_a_good_day, "bin"),
    (hunger_of_a_poor_day_hushed_up, "wish_value"),
    (low_figure_above_the_high_one, "amount"),
    (carried_too_much, "carry_limit"),
    (pickup_too_small, "min_pickup"),
    (too_many_visits, "visits_a_day"),
    (too_many_homes, "homes_a_day"),
    (out_of_reach, "reach"),
    (farther_than_reach, "reach"),
    (hours_do_not_meet, "hours"),
    (closed_on_the_day, "hours"),
    (hours_only_touch, "hours"),
    (material_refused, "material"),
    (ban_ignored, "ban"),
    (ban_of_one_day_ignored, "ban"),
    (pin_forgotten, "pin"),
    (pinned_amount_changed, "pin"),
    (started_pickup_dropped, "started"),
    (started_pickup_enlarged_without_right, "hours"),
    (left_over_hushed_up, "left_over"),
    (left_over_too_little, "left_over"),
    (left_over_invented, "left_over"),
    (placement_listed_twice, "counted_twice"),
    (feed_listed_twice, "counted_twice"),
    (wish_prettier_than_true, "wish_value"),
    (wish_left_out, "wish_order"),
    (wishes_out_of_order, "wish_order"),
    (bound_above_value, "wish_bound"),
    (bound_not_a_number, "wish_bound"),
    (trips_said_to_be_dearer, "wish_value"),
    (trips_that_pay, "amount"),
    (usable_overstated, "usable"),
    (citrus_called_peelings, "lot_material"),
    (recipe_drowns_the_tank, "recipe_water"),
    (destination_overrun, "destination_full"),
    (destination_unknown, "destination"),
    (destination_a_day_late, "destination"),
    (half_grams, "amount"),
    (negative_amount, "amount"),
    (empty_placement, "amount"),
    (unknown_digester, "unknown_code"),
    (outside_the_horizon, "horizon"),
    (maximum_missing, "document"),
    (another_schema, "document"),
    (list_missing, "document"),
    (field_missing, "document"),
    (stall_forgotten, "source_forgotten"),
]


def test_a_sound_plan_has_no_violation() -> None:
    assert verify(deepcopy(SOUND)) == []


@pytest.mark.parametrize(("mutate", "rule"), MUTATIONS, ids=[m.__name__ for m, _ in MUTATIONS])
def test_a_broken_plan_is_noticed(mutate: Callable[[Document], None], rule: str) -> None:
    document = deepcopy(SOUND)
    mutate(document)
    violations = verify(document)
    assert rule in {violation.rule for violation in violations}
    for violation in violations:
        assert violation.sentence
        assert violation.place


@pytest.mark.parametrize(("has_low_figures", "trip_g_m"), [(True, 200_000), (False, 1_000_000)])
def test_a_plan_older_than_its_trip_price_is_held_to_that_of_its_time(
    has_low_figures: bool, trip_g_m: int
) -> None:
    """By hand: five visits, and 1,200 g over 400 m, 900 over 500, 2,000 over 150, 5,000 over
    300: 480,000 + 450,000 + 300,000 + 1,500,000 = 2,730,000 gram-metres."""
    document = deepcopy(SOUND)
    del document["rules"]["trip_g_m"]
    for batch in document["batches"]:
        if not has_low_figures:
            del batch["low_g"], batch["high_g"]
    carrying = row(document, "wishes", name="carrying_g_m")
    for cost in (1_000_000, 200_000):
        carrying["value"] = 2_730_000 + 5 * cost
        faults = [violation.rule for violation in verify(document)]
        assert faults == ([] if cost == trip_g_m else ["wish_value"])


@pytest.mark.parametrize(
    "fault", ["nothing", [], {}, None, {"schema": "neighbourhood-feed-plan", "schema_version": 1}]
)
def test_something_else_than_a_plan_is_a_violation(fault: object) -> None:
    assert {violation.rule for violation in verify(fault)} == {"document"}


AMOUNTS = [
    (table, number)
    for table in ("placements", "feeds", "left_over")
    for number in range(len(SOUND[table]))
]


@given(place=st.sampled_from(AMOUNTS), by_g=st.integers(-5_000, 5_000).filter(bool))
@settings(max_examples=150, deadline=None)
def test_no_single_amount_can_change_unnoticed(place: tuple[str, int], by_g: int) -> None:
    table, number = place
    document = deepcopy(SOUND)
    document[table][number]["amount_g"] += by_g
    assert verify(document)


@given(
    table=st.sampled_from(["placements", "feeds"]),
    number=st.integers(0, 4),
    on=st.sampled_from([DAY_0, DAY_1, DAY_2]),
    digester=st.sampled_from(["NORTH-4", "SOUTH-9"]),
)
@settings(max_examples=100, deadline=None)
def test_no_placement_can_move_unnoticed(table: str, number: int, on: str, digester: str) -> None:
    document = deepcopy(SOUND)
    moved = document[table][number]
    if (moved["on"], moved["digester"]) == (on, digester):
        return
    moved["on"], moved["digester"] = on, digester
    assert verify(document)


def test_the_command_says_what_is_wrong(tmp_path: Path) -> None:
    sound, broken = tmp_path / "sound.json", tmp_path / "broken.json"
    sound.write_text(json.dumps(SOUND), encoding="utf-8")
    document = deepcopy(SOUND)
    bin_too_small(document)
    broken.write_text(json.dumps(document), encoding="utf-8")

    def run(path: Path) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "apps.planning.verifier", str(path)],
            capture_output=True,
            text=True,
            check=False,
            cwd=Path(__file__).parents[3],
        )

    assert run(sound).returncode == 0
    refused = run(broken)
    assert refused.returncode == 1
    assert (
        "The bin of NORTH-4 may hold 5200.000 g on 2027-03-01, over its 5199 g." in refused.stdout
    )
    assert run(tmp_path / "absent.json").returncode == 2
