"""The plan document as flat tables, one list of rows each, the first row being the header.

Rules for every table: amounts in kg with at most three decimals and a dot (`7.5`), exact to
the gram; litres likewise; dates `YYYY-MM-DD`, local to the group; `yes` or `no`; an empty cell
where nothing is known or set; lists inside a cell are separated by spaces. Codes join tables.

| table | a row is | columns |
|---|---|---|
| plan.csv | one figure about the plan | `item`, `value` (schema, group, time_zone, plan, first_day, last_day, rota_limit_days, change_budget, reach_m, seed, iterations, engine, input_hash, stopped_by) |
| materials.csv | a material | `material`, `name`, `vs_ppm` (g VS per 10^6 g fresh), `slurry_ppm` (ml slurry, water included, per 10^6 g fresh), `share_groups` |
| sources.csv | a source | `source`, `name`, `max_homes_per_day`, `waited_days` (since the last visit, before the first day; empty: never visited) |
| digesters.csv | a digester | `digester`, `name`, `bin_kg`, `accepts`, `max_visits_per_day`, `carry_limit_kg` and `min_pickup_kg` (each visit), `min_vs_kg` (over all days), `recent_fill_ppm` |
| digester_days.csv | a digester on a day | `digester`, `on`, `max_feed_kg`, `max_vs_kg`, `max_slurry_l` (the stored maximum, own waste included), `plan_feed_kg`, `plan_vs_kg`, `plan_slurry_l` (what the plan may add), `target_vs_kg`, `own_waste_kg`, `fed_kg`, `fed_vs_kg`, `fed_slurry_l` (added by the plan, rounded up to the gram), `bin_kg` (after the day's arrivals, before feeding), `water_l`, `recipe`, `binding_rule`, `rule_source` |
| own_waste.csv | a household's own waste on a day | `digester`, `on`, `material`, `amount_kg` |
| share_caps.csv | a share cap | `digester`, `group`, `share_ppm` (of the day's feed, own waste included), `basis` (vs or mass) |
| stock.csv | a lot in a bin at the start | `digester`, `lot`, `material`, `amount_kg`, `feed_by` |
| hours.csv | one stretch of one end's hours | `end` (source or digester), `code`, `on`, `opens`, `closes` (both empty: closed all day) |
| batches.csv | a batch | `batch`, `source`, `material`, `amount_kg`, `ready_on`, `collect_by`, `feed_by`, `divisible`, `placed_kg`, `left_over_kg` |
| pairs.csv | a source and a digester in reach | `source`, `digester`, `distance_m`, `meets_on`, `steady`, `usable_ppm` (part of what is collected that reaches the bin) |
| pins.csv | a pin | `batch`, `digester`, `on`, `amount_kg` (empty: left to the plan) |
| bans.csv | a ban | `source`, `digester`, `on` (empty: every day) |
| started.csv, previous.csv | a started pickup; one of the replaced plan | `batch`, `digester`, `on`, `amount_kg` |
| assignments.csv | a batch, or part, to a digester on a day | `source`, `digester`, `on`, `batch`, `material`, `amount_kg` (collected), `usable_kg` (of it into the bin, rounded down to the gram) |
| daily_feeds.csv | grams of one lot fed on a day | `digester`, `on`, `lot` (a batch, or a lot of stock.csv), `material`, `amount_kg` (as collected), `usable_kg` (really fed, rounded down to the gram) |
| left_over.csv | a batch (or stock lot), or part of it, nobody feeds in time | `lot`, `source` (empty for stock), `material`, `amount_kg`, `reason_code`, `reason`, `smallest_change`, `destination` (empty: stays with the source) |
| wishes.csv | a wish, most important first | `wish`, `value`, `bound` (no plan can have less, given the wishes before it) |
"""  # noqa: E501 - a table row cannot be wrapped

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping
from typing import Any

from apps.planning.core.export import Document
from apps.planning.core.problem import PPM

Table = list[list[Any]]


def plan_tables(document: Document) -> dict[str, Table]:
    """File name to rows (header first); cells are str or int."""
    return {
        "plan.csv": _plan(document),
        "materials.csv": _table(
            ["material", "name", "vs_ppm", "slurry_ppm", "share_groups"],
            [
                [m["code"], m["name"], m["vs_ppm"], m["slurry_ppm"], " ".join(m["share_groups"])]
                for m in document["materials"]
            ],
        ),
        "sources.csv": _table(
            ["source", "name", "max_homes_per_day", "waited_days"],
            [
                [s["code"], s["name"], s["max_homes_per_day"], _blank(s["waited_days"])]
                for s in document["sources"]
            ],
        ),
        "digesters.csv": _digesters(document),
        "digester_days.csv": _digester_days(document),
        "own_waste.csv": _table(
            ["digester", "on", "material", "amount_kg"],
            [
                [day["digester"], day["on"], waste["material"], thousandths(waste["amount_g"])]
                for day in document["digester_days"]
                for waste in day["own_waste"]
            ],
        ),
        "share_caps.csv": _table(
            ["digester", "group", "share_ppm", "basis"],
            [
                [digester["code"], cap["group"], cap["share_ppm"], cap["basis"]]
                for digester in document["digesters"]
                for cap in digester["share_caps"]
            ],
        ),
        "stock.csv": _table(
            ["digester", "lot", "material", "amount_kg", "feed_by"],
            [
                [
                    digester["code"],
                    lot["lot"],
                    lot["material"],
                    thousandths(lot["amount_g"]),
                    lot["feed_by_on"],
                ]
                for digester in document["digesters"]
                for lot in digester["stock"]
            ],
        ),
        "hours.csv": _hours(document),
        "batches.csv": _batches(document),
        "pairs.csv": _table(
            ["source", "digester", "distance_m", "meets_on", "steady", "usable_ppm"],
            [
                [
                    pair["source"],
                    pair["digester"],
                    pair["distance_m"],
                    " ".join(pair["meets_on"]),
                    _yes(pair["steady"]),
                    pair["usable_ppm"],
                ]
                for pair in document["pairs"]
            ],
        ),
        "pins.csv": _placements(document["pins"]),
        "bans.csv": _table(
            ["source", "digester", "on"],
            [[ban["source"], ban["digester"], _blank(ban["on"])] for ban in document["bans"]],
        ),
        "started.csv": _placements(document["started"]),
        "previous.csv": _placements(document["previous"]),
        "assignments.csv": _assignments(document),
        "daily_feeds.csv": _table(
            ["digester", "on", "lot", "material", "amount_kg", "usable_kg"],
            [
                [
                    feed["digester"],
                    feed["on"],
                    feed["lot"],
                    feed["material"],
                    thousandths(feed["amount_g"]),
                    thousandths(feed["usable_g"]),
                ]
                for feed in document["feeds"]
            ],
        ),
        "left_over.csv": _left_over(document),
        "wishes.csv": _table(
            ["wish", "value", "bound"],
            [[wish["name"], wish["value"], wish["bound"]] for wish in document["wishes"]],
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


def _table(header: list[str], rows: list[list[Any]]) -> Table:
    return [list(header), *rows]


def _blank(value: Any) -> Any:
    return "" if value is None else value


def _yes(value: bool) -> str:
    return "yes" if value else "no"


def _plan(document: Document) -> Table:
    days = document["days"]
    rules = document["rules"]
    figures = {
        "schema": f"{document['schema']} {document['schema_version']}",
        "group": document["group"]["name"],
        "time_zone": document["group"]["time_zone"],
        "plan": document["plan"],
        "first_day": days[0] if days else "",
        "last_day": days[-1] if days else "",
        **rules,
        **document["provenance"],
    }
    return _table(["item", "value"], [[item, _blank(value)] for item, value in figures.items()])


def _digesters(document: Document) -> Table:
    return _table(
        [
            "digester",
            "name",
            "bin_kg",
            "accepts",
            "max_visits_per_day",
            "carry_limit_kg",
            "min_pickup_kg",
            "min_vs_kg",
            "recent_fill_ppm",
        ],
        [
            [
                digester["code"],
                digester["name"],
                thousandths(digester["bin_g"]),
                " ".join(digester["accepts"]),
                digester["max_visits_per_day"],
                thousandths(digester["carry_limit_g"]),
                thousandths(digester["min_pickup_g"]),
                thousandths(digester["min_vs_g"]),
                digester["recent_fill_ppm"],
            ]
            for digester in document["digesters"]
        ],
    )


def _digester_days(document: Document) -> Table:
    materials = {material["code"]: material for material in document["materials"]}
    source = {batch["code"]: batch["source"] for batch in document["batches"]}
    pair_ppm: dict[tuple[str | None, str], int] = {
        (pair["source"], pair["digester"]): pair["usable_ppm"] for pair in document["pairs"]
    }

    def usable_ppm(lot: str, digester: str) -> int:
        return pair_ppm.get((source.get(lot), digester), PPM)

    fed: dict[tuple[str, str], list[int]] = defaultdict(lambda: [0, 0, 0])
    for feed in document["feeds"]:
        sums = fed[feed["digester"], feed["on"]]
        material = materials[feed["material"]]
        millionths = feed["amount_g"] * usable_ppm(feed["lot"], feed["digester"])
        sums[0] += millionths * PPM
        sums[1] += millionths * material["vs_ppm"]
        sums[2] += millionths * material["slurry_ppm"]
    arrived: dict[tuple[str, str], int] = defaultdict(int)
    for placement in document["placements"]:
        arrived[placement["digester"], placement["on"]] += placement["amount_g"] * usable_ppm(
            placement["batch"], placement["digester"]
        )
    recipes = {(recipe["digester"], recipe["on"]): recipe for recipe in document["recipes"]}
    in_bin = _bins(document, arrived, usable_ppm)
    rows = []
    for day in document["digester_days"]:
        key = (day["digester"], day["on"])
        fed_g, fed_vs, fed_slurry = fed[key]
        recipe = recipes.get(key)
        rows.append(
            [
                *key,
                thousandths(day["max_feed_g"]),
                thousandths(day["max_vs_g"]),
                thousandths(day["max_slurry_ml"]),
                thousandths(day["plan_feed_g"]),
                thousandths(day["plan_vs_g"]),
                thousandths(day["plan_slurry_ml"]),
                thousandths(day["target_vs_g"]),
                thousandths(sum(waste["amount_g"] for waste in day["own_waste"])),
                thousandths(-(-fed_g // PPM**2)),
                thousandths(-(-fed_vs // PPM**2)),
                thousandths(-(-fed_slurry // PPM**2)),
                thousandths(-(-in_bin[key] // PPM)),
                thousandths(recipe["water_ml"]) if recipe else "",
                recipe["words"] if recipe else "",
                day["binding_rule"],
                day["rule_source"],
            ]
        )
    return _table(
        [
            "digester",
            "on",
            "max_feed_kg",
            "max_vs_kg",
            "max_slurry_l",
            "plan_feed_kg",
            "plan_vs_kg",
            "plan_slurry_l",
            "target_vs_kg",
            "own_waste_kg",
            "fed_kg",
            "fed_vs_kg",
            "fed_slurry_l",
            "bin_kg",
            "water_l",
            "recipe",
            "binding_rule",
            "rule_source",
        ],
        rows,
    )


def _bins(
    document: Document,
    arrived: Mapping[tuple[str, str], int],
    usable_ppm: Callable[[str, str], int],
) -> dict[tuple[str, str], int]:
    """Millionths of grams in each bin after the day's arrivals, before feeding.

    Stock counts until it is fed or its last feeding day is over.
    """
    feeds: dict[tuple[str, str], list[Document]] = defaultdict(list)
    for feed in document["feeds"]:
        feeds[feed["digester"], feed["on"]].append(feed)
    in_bin = {}
    for digester in document["digesters"]:
        stock = {lot["lot"]: lot["amount_g"] for lot in digester["stock"]}
        feed_by = {lot["lot"]: lot["feed_by_on"] for lot in digester["stock"]}
        collected = 0
        for on in document["days"]:
            key = (digester["code"], on)
            collected += arrived.get(key, 0)
            in_bin[key] = collected + PPM * sum(
                amount for lot, amount in stock.items() if feed_by[lot] >= on
            )
            for feed in feeds[key]:
                if feed["lot"] in stock:
                    stock[feed["lot"]] -= feed["amount_g"]
                else:
                    collected -= feed["amount_g"] * usable_ppm(feed["lot"], digester["code"])
    return in_bin


def _hours(document: Document) -> Table:
    rows = []
    for end, ends in (("source", document["sources"]), ("digester", document["digesters"])):
        for each in ends:
            for on, stretches in sorted((each["hours"] or {}).items()):
                for opens, closes in stretches or [("", "")]:
                    rows.append([end, each["code"], on, opens, closes])
    return _table(["end", "code", "on", "opens", "closes"], rows)


def _batches(document: Document) -> Table:
    placed: dict[str, int] = defaultdict(int)
    for placement in document["placements"]:
        placed[placement["batch"]] += placement["amount_g"]
    left = {each["lot"]: each["amount_g"] for each in document["left_over"]}
    return _table(
        [
            "batch",
            "source",
            "material",
            "amount_kg",
            "ready_on",
            "collect_by",
            "feed_by",
            "divisible",
            "placed_kg",
            "left_over_kg",
        ],
        [
            [
                batch["code"],
                batch["source"],
                batch["material"],
                thousandths(batch["amount_g"]),
                batch["ready_on"],
                batch["collect_by_on"],
                batch["feed_by_on"],
                _yes(batch["divisible"]),
                thousandths(placed[batch["code"]]),
                thousandths(left.get(batch["code"], 0)),
            ]
            for batch in document["batches"]
        ],
    )


def _placements(placements: list[Document]) -> Table:
    return _table(
        ["batch", "digester", "on", "amount_kg"],
        [
            [
                each["batch"],
                each["digester"],
                each["on"],
                "" if each["amount_g"] is None else thousandths(each["amount_g"]),
            ]
            for each in placements
        ],
    )


def _assignments(document: Document) -> Table:
    material = {batch["code"]: batch["material"] for batch in document["batches"]}
    return _table(
        ["source", "digester", "on", "batch", "material", "amount_kg", "usable_kg"],
        [
            [
                each["source"],
                each["digester"],
                each["on"],
                each["batch"],
                material[each["batch"]],
                thousandths(each["amount_g"]),
                thousandths(each["usable_g"]),
            ]
            for each in document["placements"]
        ],
    )


def _left_over(document: Document) -> Table:
    return _table(
        [
            "lot",
            "source",
            "material",
            "amount_kg",
            "reason_code",
            "reason",
            "smallest_change",
            "destination",
        ],
        [
            [
                each["lot"],
                _blank(each["source"]),
                each["material"],
                thousandths(each["amount_g"]),
                each["reason_code"],
                each["reason"],
                each["smallest_change"],
                _blank(each["destination"]),
            ]
            for each in document["left_over"]
        ],
    )
