"""The limits a plan may never pass, written a second time from their words.

Exact: loads are whole millionths (or millionths of millionths) of the unit, never rounded.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from typing import Any

from apps.planning.verifier.reading import MILLION, Plan
from apps.planning.verifier.violation import Violation


def limits_passed(plan: Plan) -> Iterator[Violation]:
    yield from _batches(plan)
    yield from _parts(plan)
    yield from _feeds(plan)
    yield from _digester_days(plan)
    yield from _shares(plan)
    yield from _bins(plan)
    yield from _visits(plan)
    yield from _pairs(plan)
    yield from _promises(plan)


def _batches(plan: Plan) -> Iterator[Violation]:
    placed: dict[str, int] = defaultdict(int)
    parts: dict[str, set[tuple[str, str]]] = defaultdict(set)
    for row in plan.placements:
        batch = plan.batches[row["batch"]]
        place = f"{row['batch']} to {row['digester']} on {row['on']}"
        placed[row["batch"]] += row["amount_g"]
        parts[row["batch"]].add((row["digester"], row["on"]))
        if not batch["ready_on"] <= row["on"] <= batch["collect_by_on"]:
            yield Violation(
                "collect_window",
                place,
                0,
                f"{row['batch']} is collected on {row['on']}, but can be from "
                f"{batch['ready_on']} to {batch['collect_by_on']}.",
            )
    for code, amount_g in sorted(placed.items()):
        batch = plan.batches[code]
        if amount_g > batch["amount_g"]:
            yield Violation(
                "batch_amount",
                code,
                amount_g - batch["amount_g"],
                f"{amount_g} g of {code} are placed, but it has {batch['amount_g']} g.",
            )
        if not batch["divisible"] and (len(parts[code]) > 1 or amount_g < batch["amount_g"]):
            yield Violation(
                "indivisible",
                code,
                batch["amount_g"] - amount_g,
                f"{code} cannot be divided, but {amount_g} g of its {batch['amount_g']} g "
                f"are placed in {len(parts[code])} part(s).",
            )


def _parts(plan: Plan) -> Iterator[Violation]:
    """What goes of a batch to one digester on one day is worth a line."""
    smallest_g = plan.document["rules"].get("smallest_part_g", 0)
    pinned = {(row["batch"], row["digester"], row["on"]) for row in plan.document["pins"]}
    for row in plan.placements:
        batch = plan.batches[row["batch"]]
        key = (row["batch"], row["digester"], row["on"])
        least_g = min(smallest_g, plan.digesters[row["digester"]]["min_pickup_g"])
        least_g = min(least_g, batch["amount_g"])
        if row["amount_g"] < least_g and key not in pinned and key not in plan.started:
            yield Violation(
                "smallest_part",
                " ".join(key),
                least_g - row["amount_g"],
                f"Only {row['amount_g']} g of {key[0]} go to {key[1]} on {key[2]}; less than "
                f"{least_g} g of a batch is not worth sending.",
            )


def _feeds(plan: Plan) -> Iterator[Violation]:
    collected: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    fed: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    for row in plan.placements:
        collected[row["batch"], row["digester"]][row["on"]] += row["amount_g"]
    for row in plan.feeds:
        lot = plan.lot(row["lot"], row["digester"])
        place = f"{row['lot']} at {row['digester']} on {row['on']}"
        if lot is None:
            yield Violation(
                "feed_of_nothing",
                place,
                row["amount_g"],
                f"{row['digester']} is fed {row['lot']}, which is neither a batch nor in its bin.",
            )
            continue
        fed[row["lot"], row["digester"]][row["on"]] += row["amount_g"]
        if row["on"] > lot.feed_by:
            yield Violation(
                "shelf_life",
                place,
                row["amount_g"],
                f"{row['lot']} is fed on {row['on']}, but must be by {lot.feed_by}.",
            )
    for key in sorted(collected.keys() | fed.keys()):
        code, digester = key
        stock = plan.stock.get((digester, code)) if code not in plan.batches else None
        here_g = stock.amount_g if stock else 0
        for on in plan.days:
            here_g += collected[key][on] - fed[key][on]
            if here_g < 0:
                yield Violation(
                    "feed_of_nothing",
                    f"{code} at {digester} on {on}",
                    -here_g,
                    f"By {on} {digester} is fed {-here_g} g more of {code} than it has had.",
                )
                break
        else:
            if here_g > 0 and stock is None:
                yield Violation(
                    "collected_not_fed",
                    f"{code} at {digester}",
                    here_g,
                    f"{here_g} g of {code} are collected for {digester} and never fed.",
                )


def _load(plan: Plan, row: dict[str, Any]) -> int:
    """Usable millionths of grams of one feed."""
    lot = plan.lot(row["lot"], row["digester"])
    return int(row["amount_g"]) * (plan.usable_ppm(lot.source, row["digester"]) if lot else MILLION)


def _coefficients(plan: Plan, material: str) -> tuple[int, int, int]:
    """Millionths of g fed, g VS and ml slurry per gram."""
    row = plan.materials[material]
    return MILLION, row["vs_ppm"], row["slurry_ppm"]


def _digester_days(plan: Plan) -> Iterator[Violation]:
    for (digester, on), day in sorted(plan.digester_days.items()):
        feeds = plan.feeds_on.get((digester, on), [])
        if not feeds:
            continue
        own = [0, 0, 0]
        for waste in day["own_waste"]:
            for index, ppm in enumerate(_coefficients(plan, waste["material"])):
                own[index] += waste["amount_g"] * MILLION * ppm
        added = [0, 0, 0]
        for row in feeds:
            load = _load(plan, row)
            for index, ppm in enumerate(_coefficients(plan, row["material"])):
                added[index] += load * ppm
        for index, (name, unit) in enumerate((("feed", "g"), ("vs", "g"), ("slurry", "ml"))):
            limits = (
                (f"max_{name}", added[index] + own[index], "own kitchen waste included"),
                (f"plan_{name}", added[index], "own kitchen waste already taken off"),
            )
            for rule, amount, what in limits:
                limit = day[f"{rule}_{unit}"]
                over = amount - limit * MILLION**2
                if over > 0:
                    yield Violation(
                        rule,
                        f"{digester} on {on}",
                        over / MILLION**2,
                        f"{digester} gets {amount / MILLION**2:.3f} {unit} ({name}) on {on}, "
                        f"over its limit of {limit} {unit}, {what}.",
                    )


def _shares(plan: Plan) -> Iterator[Violation]:
    for (digester, on), feeds in sorted(plan.feeds_on.items()):
        day = plan.digester_days[digester, on]
        for cap in plan.digesters[digester]["share_caps"]:
            total = group = by_plan = 0
            own = [(waste["material"], waste["amount_g"] * MILLION) for waste in day["own_waste"]]
            fed = [(row["material"], _load(plan, row)) for row in feeds]
            for index, (code, load) in enumerate(own + fed):
                material = plan.materials[code]
                part = load * (material["vs_ppm"] if cap["basis"] == "vs" else 1)
                total += part
                if cap["group"] in material["share_groups"]:
                    group += part
                    by_plan += part if index >= len(own) else 0
            over = group * MILLION - cap["share_ppm"] * total
            if by_plan > 0 and over > 0:
                yield Violation(
                    "share_cap",
                    f"{digester} on {on}",
                    group / total - cap["share_ppm"] / MILLION,
                    f"{cap['group']} is {100 * group / total:.2f} % of the feed of {digester} on "
                    f"{on} by {cap['basis']}, over {cap['share_ppm'] / 10_000:g} %.",
                )


def _bins(plan: Plan) -> Iterator[Violation]:
    arrivals: dict[tuple[str, str], int] = defaultdict(int)
    for row in plan.placements:
        ppm = plan.usable_ppm(plan.batches[row["batch"]]["source"], row["digester"])
        arrivals[row["digester"], row["on"]] += row["amount_g"] * ppm * plan.high_ppm(row["batch"])
    for code, digester in sorted(plan.digesters.items()):
        stock = {lot["lot"]: lot["amount_g"] for lot in digester["stock"]}
        feed_by = {lot["lot"]: lot["feed_by_on"] for lot in digester["stock"]}
        collected = 0
        for on in plan.days:
            collected += arrivals[code, on]
            alive_g = sum(stock[lot] for lot in stock if feed_by[lot] >= on)
            level = collected + MILLION**2 * alive_g
            over = level - digester["bin_g"] * MILLION**2
            if collected > 0 and over > 0:
                yield Violation(
                    "bin",
                    f"{code} on {on}",
                    over / MILLION**2,
                    f"The bin of {code} may hold {level / MILLION**2:.3f} g on {on}, "
                    f"over its {digester['bin_g']} g.",
                )
            for row in plan.feeds_on.get((code, on), []):
                if row["lot"] in stock:
                    stock[row["lot"]] -= row["amount_g"]
                else:
                    collected -= _load(plan, row) * plan.high_ppm(row["lot"])


def _visits(plan: Plan) -> Iterator[Violation]:
    at_home: dict[tuple[str, str], list[tuple[str, str, str]]] = defaultdict(list)
    from_source: dict[tuple[str, str], list[tuple[str, str, str]]] = defaultdict(list)
    for visit, rows in sorted(plan.visits.items()):
        source, code, on = visit
        at_home[code, on].append(visit)
        from_source[source, on].append(visit)
        digester = plan.digesters[code]
        place = f"{source} to {code} on {on}"
        carried_g = sum(row["amount_g"] for row in rows)
        added_g = plan.added_by_plan_g(visit)
        if added_g > 0 and carried_g > digester["carry_limit_g"]:
            yield Violation(
                "carry_limit",
                place,
                carried_g - digester["carry_limit_g"],
                f"{carried_g} g are carried from {source} to {code} on {on}, "
                f"over the limit of {digester['carry_limit_g']} g.",
            )
        whole = any(not plan.batches[row["batch"]]["divisible"] for row in rows)
        if added_g == carried_g < digester["min_pickup_g"] and not whole:
            yield Violation(
                "min_pickup",
                place,
                digester["min_pickup_g"] - carried_g,
                f"Only {carried_g} g are carried from {source} to {code} on {on}; "
                f"a pickup is worth at least {digester['min_pickup_g']} g.",
            )
    counts = (
        ("visits_a_day", at_home, plan.digesters, "max_visits_per_day", "makes", "visits"),
        ("homes_a_day", from_source, plan.sources, "max_homes_per_day", "serves", "homes"),
    )
    for rule, visits_by_end, ends, field, verb, noun in counts:
        for (code, on), visits in sorted(visits_by_end.items()):
            limit = ends[code][field]
            added = any(plan.added_by_plan_g(visit) == _carried(plan, visit) for visit in visits)
            if len(visits) > limit and added:
                yield Violation(
                    rule,
                    f"{code} on {on}",
                    len(visits) - limit,
                    f"{code} {verb} {len(visits)} {noun} on {on}, at most {limit}.",
                )


def _carried(plan: Plan, visit: tuple[str, str, str]) -> int:
    return sum(row["amount_g"] for row in plan.visits[visit])


def _pairs(plan: Plan) -> Iterator[Violation]:
    reach_m = plan.document["rules"].get("reach_m")
    bans = {(row["source"], row["digester"], row["on"]) for row in plan.document["bans"]}
    for row in plan.placements:
        if plan.is_fact(row):
            continue
        batch = plan.batches[row["batch"]]
        source, code, on = batch["source"], row["digester"], row["on"]
        place = f"{row['batch']} to {code} on {on}"
        pair = plan.pairs.get((source, code))
        if pair is None:
            yield Violation("reach", place, 0, f"{code} is not within reach of {source}.")
        else:
            if reach_m is not None and pair["distance_m"] > reach_m:
                yield Violation(
                    "reach",
                    place,
                    pair["distance_m"] - reach_m,
                    f"{code} is {pair['distance_m']} m from {source}, over {reach_m} m.",
                )
            if on not in pair["meets_on"] or not _hours_meet(plan, source, code, on):
                yield Violation(
                    "hours", place, 0, f"The hours of {source} and {code} do not meet on {on}."
                )
        if batch["material"] not in plan.digesters[code]["accepts"]:
            yield Violation(
                "material", place, row["amount_g"], f"{code} does not accept {batch['material']}."
            )
        if (source, code, on) in bans or (source, code, None) in bans:
            yield Violation("ban", place, 0, f"{source} must not go to {code} on {on}.")


def _hours_meet(plan: Plan, source: str, digester: str, on: str) -> bool:
    """True also where the hours of an end on that day are not stated."""
    ends = (plan.sources[source], plan.digesters[digester])
    first, second = ((end.get("hours") or {}).get(on) for end in ends)
    if first is None or second is None:
        return True
    return any(
        max(opens, other_opens) < min(closes, other_closes)
        for opens, closes in first
        for other_opens, other_closes in second
    )


def _promises(plan: Plan) -> Iterator[Violation]:
    placed = {
        (row["batch"], row["digester"], row["on"]): row["amount_g"] for row in plan.placements
    }
    for key, amount_g in sorted(plan.started.items()):
        if placed.get(key, 0) < amount_g:
            yield Violation(
                "started",
                " ".join(key),
                amount_g - placed.get(key, 0),
                f"{amount_g} g of {key[0]} to {key[1]} on {key[2]} were started, "
                f"but the plan has {placed.get(key, 0)} g.",
            )
    for pin in plan.document["pins"]:
        key = (pin["batch"], pin["digester"], pin["on"])
        amount_g = placed.get(key, 0)
        least_g = min(
            plan.digesters[pin["digester"]]["min_pickup_g"], plan.batches[pin["batch"]]["amount_g"]
        )
        wanted = f"{least_g} g or more" if pin["amount_g"] is None else f"{pin['amount_g']} g"
        kept = amount_g >= least_g if pin["amount_g"] is None else amount_g == pin["amount_g"]
        if not kept or amount_g == 0:
            yield Violation(
                "pin",
                " ".join(key),
                amount_g,
                f"{key[0]} is pinned to {key[1]} on {key[2]} with {wanted}, "
                f"but the plan has {amount_g} g.",
            )
