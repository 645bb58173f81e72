"""The exported plan: plain JSON, complete, and checkable from its tables alone."""

from __future__ import annotations

import json
from collections import defaultdict
from decimal import Decimal

from apps.planning.core.export import plan_document
from apps.planning.core.tables import plan_tables, thousandths
from tests.planning.small_plan import SMALL_PROBLEM, SMALL_RESULT, small_document

TABLES = plan_tables(small_document())


def rows(name: str) -> list[dict[str, str]]:
    header, *body = TABLES[name]
    return [dict(zip(header, map(str, row), strict=True)) for row in body]


def test_the_document_survives_json_unchanged() -> None:
    document = small_document()
    assert json.loads(json.dumps(document)) == document


def test_listing_order_of_the_problem_does_not_matter() -> None:
    shuffled = SMALL_PROBLEM.__class__(
        **{
            name: tuple(reversed(value)) if name in {"batches", "pairs", "digesters"} else value
            for name, value in (
                (name, getattr(SMALL_PROBLEM, name)) for name in SMALL_PROBLEM.__slots__
            )
        }
    )
    assert plan_document(shuffled, SMALL_RESULT) == plan_document(SMALL_PROBLEM, SMALL_RESULT)


def test_every_row_is_as_wide_as_its_header() -> None:
    for table in TABLES.values():
        assert {len(row) for row in table} == {len(table[0])}


def test_every_table_and_column_is_described() -> None:
    described = plan_tables.__globals__["__doc__"]
    for name, table in TABLES.items():
        assert name in described
        if name not in {"plan.csv", "started.csv", "previous.csv"}:
            line = next(line for line in described.splitlines() if line.startswith(f"| {name}"))
            for column in table[0]:
                assert f"`{column}`" in line, (name, column)


def test_kilograms_have_a_dot_and_at_most_three_decimals() -> None:
    assert [thousandths(g) for g in (0, 1, 10, 1_500, 12_000, -1)] == [
        "0",
        "0.001",
        "0.01",
        "1.5",
        "12",
        "-0.001",
    ]


def test_a_stranger_can_check_limits_from_the_tables() -> None:
    """By hand: on 1 March North lane gets 3 kg of M1 and its 0.7 kg of stock beside 1 kg of
    its own: 4.7 kg of at most 5.6; 4.7 x 0.15 = 0.705 kg VS of at most 0.83."""
    vs = {row["material"]: Decimal(row["vs_ppm"]) / 1_000_000 for row in rows("materials.csv")}
    fed: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    fed_vs: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    for feed in rows("daily_feeds.csv"):
        key = (feed["digester"], feed["on"])
        fed[key] += Decimal(feed["usable_kg"])
        fed_vs[key] += Decimal(feed["usable_kg"]) * vs[feed["material"]]
    for own in rows("own_waste.csv"):
        key = (own["digester"], own["on"])
        fed[key] += Decimal(own["amount_kg"])
        fed_vs[key] += Decimal(own["amount_kg"]) * vs[own["material"]]
    assert fed["NORTH-4", "2027-03-01"] == Decimal("4.7")
    assert fed_vs["NORTH-4", "2027-03-01"] == Decimal("0.705")
    for day in rows("digester_days.csv"):
        key = (day["digester"], day["on"])
        assert fed[key] <= Decimal(day["max_feed_kg"])
        assert fed_vs[key] <= Decimal(day["max_vs_kg"])


def test_a_day_shows_its_bin_feed_and_rule() -> None:
    """By hand: 0.7 kg of stock and 4.5 kg arriving; 3.7 kg fed; 3.7 x 0.15 = 0.555."""
    day = rows("digester_days.csv")[0]
    assert (day["digester"], day["on"]) == ("NORTH-4", "2027-03-01")
    assert (day["bin_kg"], day["fed_kg"], day["fed_vs_kg"]) == ("5.2", "3.7", "0.555")
    assert day["binding_rule"] == "Loading at 20 °C at most 0.6 kg VS/m³·d."
    trimmed = rows("digester_days.csv")[4]
    # 1.2 kg of which 90 % are usable and 0.9 kg arrive; 0.54 + 0.9 kg are fed.
    assert (trimmed["bin_kg"], trimmed["fed_kg"]) == ("1.98", "1.44")


def test_each_batch_is_placed_or_left_over() -> None:
    for batch in rows("batches.csv"):
        assert Decimal(batch["placed_kg"]) + Decimal(batch["left_over_kg"]) == Decimal(
            batch["amount_kg"]
        )


def test_a_maximum_not_given_is_what_the_plan_may_add_and_own_waste() -> None:
    day = plan_document(SMALL_PROBLEM, SMALL_RESULT)["digester_days"][0]
    assert (day["max_feed_g"], day["max_vs_g"], day["max_slurry_ml"]) == (5_000, 750, 12_500)
