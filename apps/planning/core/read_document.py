"""Problem and result of a plan, read back from its document alone."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from apps.planning.core.plan_facts import Document
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
    Rules,
    ShareCap,
    Source,
    StockLot,
)
from apps.planning.core.result import Feed, LeftOver, Provenance, Result, Wish


def problem_of(document: Document) -> Problem:
    """Equal to the problem that was exported, but for the order of its parts."""
    on = document["days"]
    starts_on = date.fromisoformat(on[0])

    def day(text: str) -> int:
        return (date.fromisoformat(text) - starts_on).days

    def placement(row: Document) -> Placement:
        return Placement(row["batch"], row["digester"], day(row["on"]), row["amount_g"])

    by_digester: dict[str, list[Document]] = defaultdict(list)
    for row in sorted(document["digester_days"], key=lambda each: str(each["on"])):
        by_digester[row["digester"]].append(row)
    return Problem(
        starts_on=starts_on,
        days=len(on),
        materials=tuple(
            Material(row["code"], row["vs_ppm"], row["slurry_ppm"], tuple(row["share_groups"]))
            for row in document["materials"]
        ),
        digesters=tuple(
            _digester(row, by_digester[row["code"]], starts_on) for row in document["digesters"]
        ),
        sources=tuple(
            Source(row["code"], row["max_homes_per_day"], row["waited_days"])
            for row in document["sources"]
        ),
        batches=tuple(batches_of(document).values()),
        pairs=tuple(
            Pair(
                row["source"],
                row["digester"],
                row["distance_m"],
                tuple(each in row["meets_on"] for each in on),
                row["steady"],
                row["usable_ppm"],
            )
            for row in document["pairs"]
        ),
        pins=tuple(
            Pin(row["batch"], row["digester"], day(row["on"]), row["amount_g"])
            for row in document["pins"]
        ),
        bans=tuple(
            Ban(row["source"], row["digester"], None if row["on"] is None else day(row["on"]))
            for row in document["bans"]
        ),
        started=tuple(placement(row) for row in document["started"]),
        previous=tuple(placement(row) for row in document["previous"]),
        rules=Rules(
            rota_limit_days=document["rules"]["rota_limit_days"],
            change_budget=document["rules"]["change_budget"],
            smallest_part_g=document["rules"].get("smallest_part_g", 0),
            smallest_portion_g=document["rules"].get("smallest_portion_g", 0),
            trip_g_m=trip_g_m_of(document),
        ),
    )


def fields_unknown_to(document: Document) -> frozenset[str]:
    """Fields of a problem that came after the document was made: its fingerprint has none."""
    return frozenset(
        {"smallest_part_g", "smallest_portion_g", "trip_g_m"} - document["rules"].keys()
    )


TRIP_G_M_FIRST, TRIP_G_M_THEN = 1_000_000, 200_000
"""What a trip cost before documents said it: until and since batches had a low figure."""


def trip_g_m_of(document: Document) -> int:
    """What a trip cost when the plan was made."""
    unsaid = TRIP_G_M_THEN
    if not any("low_g" in row for row in document["batches"]):
        unsaid = TRIP_G_M_FIRST
    return int(document["rules"].get("trip_g_m", unsaid))


def batches_of(document: Document) -> dict[str, Batch]:
    """The document's batches by code."""
    starts_on = date.fromisoformat(document["days"][0])

    def day(text: str) -> int:
        return (date.fromisoformat(text) - starts_on).days

    return {
        row["code"]: Batch(
            row["code"],
            row["source"],
            row["material"],
            row["amount_g"],
            day(row["ready_on"]),
            day(row["collect_by_on"]),
            day(row["feed_by_on"]),
            row["divisible"],
            *_low_and_high_g(row),
        )
        for row in document["batches"]
    }


def _low_and_high_g(row: Document) -> tuple[int | None, int | None]:
    """None where it is the amount itself, or the document is older than these figures."""
    low_g, high_g = (row.get(name, row["amount_g"]) for name in ("low_g", "high_g"))
    return (
        None if low_g == row["amount_g"] else low_g,
        None if high_g == row["amount_g"] else high_g,
    )


def _digester(row: Document, days: list[Document], starts_on: date) -> Digester:
    def day(text: str) -> int:
        return (date.fromisoformat(text) - starts_on).days

    return Digester(
        code=str(row["code"]),
        caps=tuple(
            DayCaps(each["plan_feed_g"], each["plan_vs_g"], each["plan_slurry_ml"]) for each in days
        ),
        target_vs_g=tuple(each["target_vs_g"] for each in days),
        min_vs_g=row["min_vs_g"],
        bin_g=row["bin_g"],
        accepts=frozenset(row["accepts"]),
        max_visits_per_day=row["max_visits_per_day"],
        carry_limit_g=row["carry_limit_g"],
        min_pickup_g=row["min_pickup_g"],
        share_caps=tuple(
            ShareCap(cap["group"], cap["share_ppm"], cap["basis"]) for cap in row["share_caps"]
        ),
        own_waste=tuple(
            OwnWaste(day(each["on"]), waste["material"], waste["amount_g"])
            for each in days
            for waste in each["own_waste"]
        ),
        stock=tuple(
            StockLot(lot["lot"], lot["material"], lot["amount_g"], day(lot["feed_by_on"]))
            for lot in row["stock"]
        ),
        recent_fill_ppm=row["recent_fill_ppm"],
    )


def result_of(document: Document) -> Result:
    """The plan that the document says, for its own problem."""
    starts_on = date.fromisoformat(document["days"][0])

    def day(text: str) -> int:
        return (date.fromisoformat(text) - starts_on).days

    made = document["provenance"]
    return Result(
        placements=tuple(
            sorted(
                (
                    Placement(row["batch"], row["digester"], day(row["on"]), row["amount_g"])
                    for row in document["placements"]
                ),
                key=lambda each: (each.batch, each.digester, each.day),
            )
        ),
        feeds=tuple(
            sorted(
                (
                    Feed(row["digester"], day(row["on"]), row["lot"], row["amount_g"])
                    for row in document["feeds"]
                ),
                key=lambda each: (each.digester, each.day, each.lot),
            )
        ),
        left_over=tuple(LeftOver(row["lot"], row["amount_g"]) for row in document["left_over"]),
        wishes=tuple(Wish(row["name"], row["value"], row["bound"]) for row in document["wishes"]),
        provenance=Provenance(
            made["seed"],
            made["iterations"],
            made["engine"],
            made["input_hash"],
            made["stopped_by"],
        ),
    )
