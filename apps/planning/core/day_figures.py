"""What each digester-day of an exported plan adds up to: fed, in the bin, and its recipe."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping

from apps.planning.core.plan_facts import Document
from apps.planning.core.problem import PPM


def day_figures(document: Document) -> list[Document]:
    """Each digester-day with what it is fed, its bin and its recipe, rounded up to the gram."""
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
        for at, ppm in enumerate((PPM, material["vs_ppm"], material["slurry_ppm"])):
            sums[at] += millionths * ppm
    arrived: dict[tuple[str, str], int] = defaultdict(int)
    for placement in document["placements"]:
        arrived[placement["digester"], placement["on"]] += placement["amount_g"] * usable_ppm(
            placement["batch"], placement["digester"]
        )
    in_bin = _bins(document, arrived, usable_ppm)
    recipes = {(recipe["digester"], recipe["on"]): recipe for recipe in document["recipes"]}
    rows = []
    for day in document["digester_days"]:
        key = (day["digester"], day["on"])
        fed_g, fed_vs_g, fed_slurry_ml = (-(-amount // PPM**2) for amount in fed[key])
        rows.append(
            day
            | {
                "own_waste_g": sum(waste["amount_g"] for waste in day["own_waste"]),
                "fed_g": fed_g,
                "fed_vs_g": fed_vs_g,
                "fed_slurry_ml": fed_slurry_ml,
                "in_bin_g": -(-in_bin[key] // PPM),
            }
            | recipes.get(key, {})
        )
    return rows


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
