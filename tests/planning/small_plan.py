"""A plan of three days small enough to be worked out by hand; places and people invented.

North lane 4 and South lane 9 have digesters. The market has peelings and citrus, the bakery
one crate that cannot be divided, the juice stall peelings; its first pickup had been started.
"""

from __future__ import annotations

from datetime import date

from apps.planning.core.canonical import hash_problem
from apps.planning.core.destinations import Destination, send_left_over
from apps.planning.core.export import plan_document
from apps.planning.core.measure import list_left_over, measure_wishes
from apps.planning.core.plan_facts import (
    DayRecipe,
    DigesterDayFacts,
    Document,
    Names,
    OpenHours,
    PlanFacts,
)
from apps.planning.core.problem import (
    Ban,
    Batch,
    DayCaps,
    Digester,
    Material,
    OwnWaste,
    Pair,
    Pin,
    Placement,
    Problem,
    ShareCap,
    Source,
    StockLot,
)
from apps.planning.core.result import WISHES, Feed, Provenance, Result, Wish

EVERY_DAY = (True, True, True)

SMALL_PROBLEM = Problem(
    starts_on=date(2027, 3, 1),
    days=3,
    materials=(
        Material("peelings", 150_000, 2_500_000),
        Material("citrus", 150_000, 2_500_000, ("citrus",)),
        Material("bones", 150_000, 2_500_000),
    ),
    digesters=(
        Digester(
            "NORTH-4",
            caps=(DayCaps(4_000, 600, 10_000),) * 3,
            target_vs_g=(500, 500, 500),
            min_vs_g=900,
            bin_g=5_500,
            accepts=frozenset({"peelings", "citrus"}),
            max_visits_per_day=1,
            carry_limit_g=5_000,
            share_caps=(ShareCap("citrus", 200_000), ShareCap("citrus", 200_000, "mass")),
            own_waste=(OwnWaste(0, "peelings", 1_000),),
            stock=(StockLot("NORTH-4-BIN", "peelings", 700, 0),),
        ),
        Digester(
            "SOUTH-9",
            caps=(DayCaps(2_000, 300, 5_000),) * 3,
            target_vs_g=(250, 250, 250),
            min_vs_g=400,
            bin_g=2_000,
            accepts=frozenset({"peelings"}),
            max_visits_per_day=2,
            recent_fill_ppm=1_200_000,
        ),
    ),
    sources=(
        Source("MARKET", max_homes_per_day=1, waited_days=3),
        Source("BAKERY", max_homes_per_day=1, waited_days=13),
        Source("JUICE", max_homes_per_day=1, waited_days=None),
    ),
    batches=(
        Batch("M1", "MARKET", "peelings", 5_000, 0, 0, 2),
        Batch("M2", "MARKET", "citrus", 600, 1, 1, 2),
        Batch("B1", "BAKERY", "peelings", 1_200, 0, 1, 2, divisible=False),
        Batch("J1", "JUICE", "peelings", 900, 1, 1, 1),
        Batch("J2", "JUICE", "peelings", 2_000, 2, 2, 2),
    ),
    pairs=(
        Pair("MARKET", "NORTH-4", 300, EVERY_DAY),
        Pair("MARKET", "SOUTH-9", 200, EVERY_DAY),
        Pair("BAKERY", "SOUTH-9", 400, EVERY_DAY, usable_ppm=900_000),
        Pair("JUICE", "NORTH-4", 150, EVERY_DAY, steady=True),
        Pair("JUICE", "SOUTH-9", 500, (True, False, True)),
    ),
    pins=(Pin("B1", "SOUTH-9", 1),),
    bans=(Ban("MARKET", "SOUTH-9"),),
    started=(Placement("J1", "SOUTH-9", 1, 900),),
)
"""The juice stall's hours do not meet those of South lane on day 1, but the pickup was begun."""

SMALL_PLACEMENTS = (
    Placement("B1", "SOUTH-9", 1, 1_200),
    Placement("J1", "SOUTH-9", 1, 900),
    Placement("J2", "NORTH-4", 2, 2_000),
    Placement("M1", "NORTH-4", 0, 4_500),
    Placement("M2", "NORTH-4", 1, 500),
)

SMALL_FEEDS = (
    Feed("NORTH-4", 0, "M1", 3_000),
    Feed("NORTH-4", 0, "NORTH-4-BIN", 700),
    Feed("NORTH-4", 1, "M1", 1_500),
    Feed("NORTH-4", 1, "M2", 300),
    Feed("NORTH-4", 2, "J2", 2_000),
    Feed("NORTH-4", 2, "M2", 200),
    Feed("SOUTH-9", 1, "B1", 600),
    Feed("SOUTH-9", 1, "J1", 900),
    Feed("SOUTH-9", 2, "B1", 600),
)


def result_of(
    problem: Problem, placements: tuple[Placement, ...], feeds: tuple[Feed, ...]
) -> Result:
    """A result with measured wishes that claims no more than the trivial bound 0."""
    values = measure_wishes(problem, placements, feeds)
    return Result(
        placements=placements,
        feeds=feeds,
        left_over=list_left_over(problem, placements, feeds),
        wishes=tuple(Wish(name, v, 0) for (name, _), v in zip(WISHES, values, strict=True)),
        provenance=Provenance(1, 0, "by hand", hash_problem(problem), "iterations"),
    )


SMALL_RESULT = result_of(SMALL_PROBLEM, SMALL_PLACEMENTS, SMALL_FEEDS)

ORCHARD_HEAP = Destination("HEAP", "Orchard heap", 600, {"MARKET": 900})

SMALL_FACTS = PlanFacts(
    digester_days=tuple(
        DigesterDayFacts(
            digester.code,
            day,
            max_feed_g=5_600 if digester.code == "NORTH-4" else 2_300,
            max_vs_g=830 if digester.code == "NORTH-4" else 340,
            max_slurry_ml=14_000 if digester.code == "NORTH-4" else 5_600,
            binding_rule="Loading at 20 °C at most 0.6 kg VS/m³·d.",
            rule_source="assumed for this example",
        )
        for digester in SMALL_PROBLEM.digesters
        for day in range(3)
    ),
    recipes=(DayRecipe("SOUTH-9", 2, 810, "half a jug"),),
    source_hours=tuple(OpenHours("MARKET", day, (("07:00", "13:00"),)) for day in range(3)),
    digester_hours=tuple(OpenHours("NORTH-4", day, (("12:00", "19:30"),)) for day in range(3)),
    destinations=(ORCHARD_HEAP,),
    sendings=send_left_over(SMALL_PROBLEM, SMALL_RESULT.left_over, [ORCHARD_HEAP]),
    reach_m=1_200,
)

SMALL_NAMES = Names(
    group="Two lanes", time_zone="Europe/Lisbon", sources={"MARKET": "Covered market"}
)


def small_document() -> Document:
    return plan_document(SMALL_PROBLEM, SMALL_RESULT, SMALL_NAMES, SMALL_FACTS)
