"""The plan document as flat tables, one list of rows each, the first row being the header.

Rules for every table: amounts in kg with at most three decimals and a dot (`7.5`), exact to
the gram; litres likewise; dates `YYYY-MM-DD`, local to the group; `yes` or `no`; an empty cell
where nothing is known or set; lists inside a cell are separated by spaces. Codes join tables.

| table | a row is | columns |
|---|---|---|
| plan.csv | one figure about the plan | `item`, `value` (schema, group, time_zone, plan, first_day, last_day, rota_limit_days, change_budget, smallest_part_g, smallest_portion_g, trip_g_m, reach_m, seed, iterations, engine, input_hash, stopped_by) |
| materials.csv | a material | `material`, `name`, `vs_ppm` (g VS per 10^6 g fresh), `slurry_ppm` (ml slurry, water included, per 10^6 g fresh), `share_groups` |
| sources.csv | a source | `source`, `name`, `max_homes_per_day`, `waited_days` (since the last visit, before the first day; empty: never visited) |
| digesters.csv | a digester | `digester`, `name`, `bin_kg`, `accepts`, `max_visits_per_day`, `carry_limit_kg` and `min_pickup_kg` (each visit), `min_vs_kg` (over all days), `recent_fill_ppm` |
| digester_days.csv | a digester on a day | `digester`, `on`, `max_feed_kg`, `max_vs_kg`, `max_slurry_l` (the stored maximum, own waste included), `plan_feed_kg`, `plan_vs_kg`, `plan_slurry_l` (what the plan may add), `target_vs_kg`, `own_waste_kg`, `fed_kg`, `fed_vs_kg`, `fed_slurry_l` (added by the plan, rounded up to the gram), `bin_kg` (after the day's arrivals, before feeding), `water_l`, `recipe`, `binding_rule`, `rule_source` |
| own_waste.csv | a household's own waste on a day | `digester`, `on`, `material`, `amount_kg` |
| share_caps.csv | a share cap | `digester`, `group`, `share_ppm` (of the day's feed, own waste included), `basis` (vs or mass) |
| stock.csv | a lot in a bin at the start | `digester`, `lot`, `material`, `amount_kg`, `feed_by` |
| hours.csv | one stretch of one end's hours | `end` (source or digester), `code`, `on`, `opens`, `closes` (both empty: closed all day) |
| batches.csv | a batch | `batch`, `source`, `material`, `amount_kg` (expected), `low_kg` (surely comes), `high_kg` (hardly more), `ready_on`, `collect_by`, `feed_by`, `divisible`, `placed_kg`, `left_over_kg` |
| pairs.csv | a source and a digester in reach | `source`, `digester`, `distance_m`, `meets_on`, `steady`, `usable_ppm` (part of what is collected that reaches the bin) |
| pins.csv | a pin | `batch`, `digester`, `on`, `amount_kg` (empty: left to the plan) |
| bans.csv | a ban | `source`, `digester`, `on` (empty: every day) |
| started.csv, previous.csv | a started pickup; one of the replaced plan | `batch`, `digester`, `on`, `amount_kg` |
| assignments.csv | a batch, or part, to a digester on a day | `source`, `digester`, `on`, `batch`, `material`, `amount_kg` (collected), `usable_kg` (of it into the bin, rounded down to the gram) |
| daily_feeds.csv | grams of one lot fed on a day | `digester`, `on`, `lot` (a batch, or a lot of stock.csv), `material`, `amount_kg` (as collected), `usable_kg` (really fed, rounded down to the gram) |
| left_over.csv | a batch (or stock lot), or part of it, nobody feeds in time | `lot`, `source` (empty for stock), `material`, `amount_kg`, `reason_code`, `reason`, `smallest_change`, `destination` (by name; empty: stays with the source), `destination_code`, `goes_on` (the last day on which somebody could have come) |
| destinations.csv | a place for what is left over | `destination_code`, `name`, `capacity_kg_per_day` |
| wishes.csv | a wish, most important first | `wish`, `value`, `bound` (no plan can have less, given the wishes before it) |
"""  # noqa: E501 - a table row cannot be wrapped

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from typing import Any

from apps.planning.core.day_figures import day_figures
from apps.planning.core.plan_facts import Document

Table = list[list[Any]]
Cell = Callable[[Document], Any]


def plan_tables(document: Document) -> dict[str, Table]:
    """File name to rows (header first); cells are str, int or (wishes) float."""
    return {
        "plan.csv": _plan(document),
        "materials.csv": _table(
            document["materials"],
            material=_as_is("code"),
            name=_as_is("name"),
            vs_ppm=_as_is("vs_ppm"),
            slurry_ppm=_as_is("slurry_ppm"),
            share_groups=_spaced("share_groups"),
        ),
        "sources.csv": _table(
            document["sources"],
            source=_as_is("code"),
            name=_as_is("name"),
            max_homes_per_day=_as_is("max_homes_per_day"),
            waited_days=_as_is("waited_days"),
        ),
        "digesters.csv": _table(
            document["digesters"],
            digester=_as_is("code"),
            name=_as_is("name"),
            bin_kg=_kg("bin_g"),
            accepts=_spaced("accepts"),
            max_visits_per_day=_as_is("max_visits_per_day"),
            carry_limit_kg=_kg("carry_limit_g"),
            min_pickup_kg=_kg("min_pickup_g"),
            min_vs_kg=_kg("min_vs_g"),
            recent_fill_ppm=_as_is("recent_fill_ppm"),
        ),
        "digester_days.csv": _table(
            day_figures(document),
            digester=_as_is("digester"),
            on=_as_is("on"),
            max_feed_kg=_kg("max_feed_g"),
            max_vs_kg=_kg("max_vs_g"),
            max_slurry_l=_kg("max_slurry_ml"),
            plan_feed_kg=_kg("plan_feed_g"),
            plan_vs_kg=_kg("plan_vs_g"),
            plan_slurry_l=_kg("plan_slurry_ml"),
            target_vs_kg=_kg("target_vs_g"),
            own_waste_kg=_kg("own_waste_g"),
            fed_kg=_kg("fed_g"),
            fed_vs_kg=_kg("fed_vs_g"),
            fed_slurry_l=_kg("fed_slurry_ml"),
            bin_kg=_kg("in_bin_g"),
            water_l=_kg("water_ml"),
            recipe=_as_is("words"),
            binding_rule=_as_is("binding_rule"),
            rule_source=_as_is("rule_source"),
        ),
        "own_waste.csv": _table(
            _inner(document["digester_days"], "own_waste"),
            digester=_as_is("digester"),
            on=_as_is("on"),
            material=_as_is("material"),
            amount_kg=_kg("amount_g"),
        ),
        "share_caps.csv": _table(
            _inner(document["digesters"], "share_caps"),
            digester=_as_is("code"),
            group=_as_is("group"),
            share_ppm=_as_is("share_ppm"),
            basis=_as_is("basis"),
        ),
        "stock.csv": _table(
            _inner(document["digesters"], "stock"),
            digester=_as_is("code"),
            lot=_as_is("lot"),
            material=_as_is("material"),
            amount_kg=_kg("amount_g"),
            feed_by=_as_is("feed_by_on"),
        ),
        "hours.csv": _table(
            _hours(document),
            end=_as_is("end"),
            code=_as_is("code"),
            on=_as_is("on"),
            opens=_as_is("opens"),
            closes=_as_is("closes"),
        ),
        "batches.csv": _table(
            _batches(document),
            batch=_as_is("code"),
            source=_as_is("source"),
            material=_as_is("material"),
            amount_kg=_kg("amount_g"),
            low_kg=_kg("low_g"),
            high_kg=_kg("high_g"),
            ready_on=_as_is("ready_on"),
            collect_by=_as_is("collect_by_on"),
            feed_by=_as_is("feed_by_on"),
            divisible=_yes("divisible"),
            placed_kg=_kg("placed_g"),
            left_over_kg=_kg("left_over_g"),
        ),
        "pairs.csv": _table(
            document["pairs"],
            source=_as_is("source"),
            digester=_as_is("digester"),
            distance_m=_as_is("distance_m"),
            meets_on=_spaced("meets_on"),
            steady=_yes("steady"),
            usable_ppm=_as_is("usable_ppm"),
        ),
        "pins.csv": _placements(document["pins"]),
        "bans.csv": _table(
            document["bans"],
            source=_as_is("source"),
            digester=_as_is("digester"),
            on=_as_is("on"),
        ),
        "started.csv": _placements(document["started"]),
        "previous.csv": _placements(document["previous"]),
        "assignments.csv": _table(
            _with_material(document),
            source=_as_is("source"),
            digester=_as_is("digester"),
            on=_as_is("on"),
            batch=_as_is("batch"),
            material=_as_is("material"),
            amount_kg=_kg("amount_g"),
            usable_kg=_kg("usable_g"),
        ),
        "daily_feeds.csv": _table(
            document["feeds"],
            digester=_as_is("digester"),
            on=_as_is("on"),
            lot=_as_is("lot"),
            material=_as_is("material"),
            amount_kg=_kg("amount_g"),
            usable_kg=_kg("usable_g"),
        ),
        "left_over.csv": _table(
            document["left_over"],
            lot=_as_is("lot"),
            source=_as_is("source"),
            material=_as_is("material"),
            amount_kg=_kg("amount_g"),
            reason_code=_as_is("reason_code"),
            reason=_as_is("reason"),
            smallest_change=_as_is("smallest_change"),
            destination=_as_is("destination"),
            destination_code=_as_is("destination_code"),
            goes_on=_as_is("goes_on"),
        ),
        "destinations.csv": _table(
            document.get("destinations", []),
            destination_code=_as_is("code"),
            name=_as_is("name"),
            capacity_kg_per_day=_kg("capacity_g_per_day"),
        ),
        "wishes.csv": _table(
            document["wishes"],
            wish=_as_is("name"),
            value=_as_is("value"),
            bound=_as_is("bound"),
        ),
    }


def thousandths(amount: int) -> str:
    """Grams as kg (or millilitres as litres): at most three decimals, a dot, no padding.

    >>> thousandths(7_500), thousandths(12), thousandths(-3_000)
    ('7.5', '0.012', '-3')
    """
    sign = "-" if amount < 0 else ""
    whole, rest = divmod(abs(amount), 1000)
    decimals = f"{rest:03d}".rstrip("0")
    return f"{sign}{whole}.{decimals}" if decimals else f"{sign}{whole}"


def _table(rows: Iterable[Document], **columns: Cell) -> Table:
    return [list(columns), *([cell(row) for cell in columns.values()] for row in rows)]


def _as_is(field: str) -> Cell:
    return lambda row: "" if row.get(field) is None else row[field]


def _kg(field: str) -> Cell:
    """Grams as kg, or millilitres as litres."""
    return lambda row: "" if row.get(field) is None else thousandths(row[field])


def _spaced(field: str) -> Cell:
    return lambda row: " ".join(row[field])


def _yes(field: str) -> Cell:
    return lambda row: "yes" if row[field] else "no"


def _plan(document: Document) -> Table:
    days = document["days"]
    figures = {
        "schema": f"{document['schema']} {document['schema_version']}",
        "group": document["group"]["name"],
        "time_zone": document["group"]["time_zone"],
        "plan": document["plan"],
        "first_day": days[0] if days else "",
        "last_day": days[-1] if days else "",
        **document["rules"],
        **document["provenance"],
    }
    rows = [{"item": item, "value": value} for item, value in figures.items()]
    return _table(rows, item=_as_is("item"), value=_as_is("value"))


def _placements(rows: list[Document]) -> Table:
    return _table(
        rows,
        batch=_as_is("batch"),
        digester=_as_is("digester"),
        on=_as_is("on"),
        amount_kg=_kg("amount_g"),
    )


def _inner(rows: list[Document], field: str) -> list[Document]:
    """The rows inside rows, each with what its outer row says."""
    return [row | inner for row in rows for inner in row[field]]


def _with_material(document: Document) -> list[Document]:
    material = {batch["code"]: batch["material"] for batch in document["batches"]}
    return [row | {"material": material[row["batch"]]} for row in document["placements"]]


def _hours(document: Document) -> list[Document]:
    return [
        {"end": end, "code": each["code"], "on": on, "opens": opens, "closes": closes}
        for end, ends in (("source", document["sources"]), ("digester", document["digesters"]))
        for each in ends
        for on, stretches in sorted((each["hours"] or {}).items())
        for opens, closes in stretches or [(None, None)]
    ]


def _batches(document: Document) -> list[Document]:
    placed: dict[str, int] = defaultdict(int)
    for placement in document["placements"]:
        placed[placement["batch"]] += placement["amount_g"]
    left = {each["lot"]: each["amount_g"] for each in document["left_over"]}
    return [
        batch | {"placed_g": placed[batch["code"]], "left_over_g": left.get(batch["code"], 0)}
        for batch in document["batches"]
    ]
