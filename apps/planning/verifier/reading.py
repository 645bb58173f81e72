"""The exported document, indexed for checking. Knows the export's format and nothing else."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from apps.planning.verifier.violation import Violation

SCHEMA = "neighbourhood-feed-plan"
SCHEMA_VERSION = 1
MILLION = 1_000_000

AMOUNTS = {
    "materials": ("vs_ppm", "slurry_ppm"),
    "digesters": (
        "bin_g",
        "max_visits_per_day",
        "carry_limit_g",
        "min_pickup_g",
        "min_vs_g",
        "recent_fill_ppm",
    ),
    "digester_days": (
        "max_feed_g",
        "max_vs_g",
        "max_slurry_ml",
        "plan_feed_g",
        "plan_vs_g",
        "plan_slurry_ml",
        "target_vs_g",
    ),
    "sources": ("max_homes_per_day",),
    "batches": ("amount_g",),
    "pairs": ("distance_m", "usable_ppm"),
    "placements": ("amount_g", "usable_g"),
    "feeds": ("amount_g", "usable_g"),
    "left_over": ("amount_g",),
    "started": ("amount_g",),
    "recipes": ("water_ml",),
}
"""List and the whole, non-negative numbers each of its rows must have."""

KEYS = {
    "materials": ("code",),
    "digesters": ("code",),
    "digester_days": ("digester", "on"),
    "sources": ("code",),
    "batches": ("code",),
    "pairs": ("source", "digester"),
    "placements": ("batch", "digester", "on"),
    "feeds": ("digester", "on", "lot"),
    "left_over": ("lot",),
    "recipes": ("digester", "on"),
}
"""List and what makes a row unique in it; a second such row would count something twice."""

REFERENCES = {
    "digester_days": {"digester": "digesters"},
    "batches": {"source": "sources", "material": "materials"},
    "pairs": {"source": "sources", "digester": "digesters"},
    "placements": {"batch": "batches", "digester": "digesters"},
    "feeds": {"digester": "digesters"},
    "started": {"batch": "batches", "digester": "digesters"},
    "pins": {"batch": "batches", "digester": "digesters"},
    "recipes": {"digester": "digesters"},
}
"""List, field and the list whose codes the field must name."""


@dataclass(frozen=True, slots=True)
class Lot:
    """A batch, or what was in one digester's bin at the start (then `source` is empty)."""

    code: str
    source: str
    material: str
    amount_g: int
    feed_by: str


class Plan:
    """The document with look-ups; built only when `shape_faults` finds nothing."""

    def __init__(self, document: dict[str, Any]) -> None:
        self.document = document
        self.days: list[str] = document["days"]
        self.materials = {row["code"]: row for row in document["materials"]}
        self.digesters = {row["code"]: row for row in document["digesters"]}
        self.digester_days = {
            (row["digester"], row["on"]): row for row in document["digester_days"]
        }
        self.sources = {row["code"]: row for row in document["sources"]}
        self.batches = {row["code"]: row for row in document["batches"]}
        self.pairs = {(row["source"], row["digester"]): row for row in document["pairs"]}
        self.placements: list[dict[str, Any]] = document["placements"]
        self.feeds: list[dict[str, Any]] = document["feeds"]
        self.stock = {
            (digester["code"], lot["lot"]): Lot(
                lot["lot"], "", lot["material"], lot["amount_g"], lot["feed_by_on"]
            )
            for digester in document["digesters"]
            for lot in digester["stock"]
        }
        self.started: dict[tuple[str, str, str], int] = defaultdict(int)
        for row in document["started"]:
            self.started[row["batch"], row["digester"], row["on"]] += row["amount_g"]
        self.visits: dict[tuple[str, str, str], list[dict[str, Any]]] = defaultdict(list)
        for row in self.placements:
            source = self.batches[row["batch"]]["source"]
            self.visits[source, row["digester"], row["on"]].append(row)
        self.feeds_on: dict[tuple[str, str], list[dict[str, Any]]] = defaultdict(list)
        for row in self.feeds:
            self.feeds_on[row["digester"], row["on"]].append(row)

    def lot(self, code: str, digester: str) -> Lot | None:
        """The batch or stock lot that a feed at `digester` names."""
        if code in self.batches:
            row = self.batches[code]
            return Lot(code, row["source"], row["material"], row["amount_g"], row["feed_by_on"])
        return self.stock.get((digester, code))

    def usable_ppm(self, source: str, digester: str) -> int:
        pair = self.pairs.get((source, digester))
        return int(pair["usable_ppm"]) if source and pair else MILLION

    def sure_ppm(self, code: str) -> int:
        """What surely comes of each gram of a batch; all of what is in a bin already."""
        batch = self.batches.get(code)
        if batch is None or not batch["amount_g"]:
            return MILLION
        return int(batch.get("low_g", batch["amount_g"])) * MILLION // int(batch["amount_g"])

    def high_ppm(self, code: str) -> int:
        """What may come of each gram of a batch, rounded up."""
        batch = self.batches.get(code)
        if batch is None or not batch["amount_g"]:
            return MILLION
        return -(-int(batch.get("high_g", batch["amount_g"])) * MILLION // int(batch["amount_g"]))

    def added_by_plan_g(self, visit: tuple[str, str, str]) -> int:
        """Grams of a visit beyond what had been started already."""
        return sum(
            row["amount_g"] - self.started.get((row["batch"], row["digester"], row["on"]), 0)
            for row in self.visits[visit]
        )

    def is_fact(self, row: dict[str, Any]) -> bool:
        """Whether a placement is no more than a pickup that had been started."""
        key = (row["batch"], row["digester"], row["on"])
        return key in self.started and bool(row["amount_g"] <= self.started[key])


def shape_faults(document: Any) -> list[Violation]:
    """What makes the document unreadable: then no other rule can be tested."""
    if not isinstance(document, dict):
        return [_fault("document", "The document is not a JSON object.")]
    version = (document.get("schema"), document.get("schema_version"))
    if version != (SCHEMA, SCHEMA_VERSION):
        return [
            _fault(
                "document",
                f"Schema {version[0]} {version[1]} is not {SCHEMA} {SCHEMA_VERSION}.",
            )
        ]
    lists = set(AMOUNTS) | set(KEYS) | set(REFERENCES) | {"days", "bans", "previous", "wishes"}
    missing = sorted(name for name in lists if not isinstance(document.get(name), list))
    if missing:
        return [_fault(name, f"The list '{name}' is missing.") for name in missing]
    if not isinstance(document.get("rules"), dict):
        return [_fault("rules", "The object 'rules' is missing.")]
    faults = [
        *_amount_faults(document),
        *_key_faults(document),
        *_reference_faults(document),
    ]
    return faults or _day_faults(document)


def _fault(place: str, sentence: str) -> Violation:
    return Violation("document", place, 0, sentence)


def _amount_faults(document: dict[str, Any]) -> list[Violation]:
    faults = []
    for name, fields in AMOUNTS.items():
        for number, row in enumerate(document[name], start=1):
            for field in fields:
                amount = row.get(field)
                if type(amount) is not int or amount < 0:
                    faults.append(
                        Violation(
                            "amount",
                            f"{name} {number}",
                            0,
                            f"{name} row {number}: {field} is {amount!r}, "
                            "not a whole number from 0.",
                        )
                    )
    for name in ("smallest_part_g", "smallest_portion_g", "trip_g_m"):
        amount = document["rules"].get(name, 0)
        if type(amount) is not int or amount < 0:
            faults.append(
                Violation("amount", "rules", 0, f"{name} is {amount!r}, not a whole number from 0.")
            )
    for number, row in enumerate(document["batches"], start=1):
        low, high = (row.get(field, row.get("amount_g")) for field in ("low_g", "high_g"))
        if type(low) is not int or type(high) is not int or not 0 <= low <= high:
            faults.append(
                Violation(
                    "amount",
                    f"batches {number}",
                    0,
                    f"batches row {number}: {low!r} to {high!r} g is no range of grams.",
                )
            )
    for name in ("placements", "feeds", "left_over"):
        for number, row in enumerate(document[name], start=1):
            if row.get("amount_g") == 0:
                faults.append(
                    Violation("amount", f"{name} {number}", 0, f"{name} row {number} is of 0 g.")
                )
    return faults


def _key_faults(document: dict[str, Any]) -> list[Violation]:
    faults = []
    for name, fields in KEYS.items():
        seen = set()
        for row in document[name]:
            key = tuple(row.get(field) for field in fields)
            if key in seen:
                faults.append(
                    Violation(
                        "counted_twice",
                        f"{name} {' '.join(map(str, key))}",
                        row.get("amount_g") or 0,
                        f"{name}: {' '.join(map(str, key))} is listed more than once.",
                    )
                )
            seen.add(key)
    return faults


def _reference_faults(document: dict[str, Any]) -> list[Violation]:
    codes = {
        name: {row.get("code") for row in document[name]}
        for name in ("digesters", "sources", "materials", "batches")
    }
    faults = []
    for name, fields in REFERENCES.items():
        for number, row in enumerate(document[name], start=1):
            for field, target in fields.items():
                if row.get(field) not in codes[target]:
                    faults.append(
                        Violation(
                            "unknown_code",
                            f"{name} {number}",
                            0,
                            f"{name} row {number}: {field} {row.get(field)!r} "
                            f"is not among the {target}.",
                        )
                    )
    return faults


def _day_faults(document: dict[str, Any]) -> list[Violation]:
    days = document["days"]
    faults = []
    if sorted(set(days)) != days:
        faults.append(_fault("days", "The days are not in order or repeat."))
    for name in ("placements", "feeds", "recipes"):
        for number, row in enumerate(document[name], start=1):
            if row.get("on") not in days:
                faults.append(
                    Violation(
                        "horizon",
                        f"{name} {number}",
                        0,
                        f"{name} row {number} is on {row.get('on')}, "
                        "which is not a day of this plan.",
                    )
                )
    present = {(row["digester"], row["on"]) for row in document["digester_days"]}
    for digester in document["digesters"]:
        for on in days:
            if (digester["code"], on) not in present:
                faults.append(
                    _fault(
                        f"{digester['code']} {on}",
                        f"No maximum is stored for {digester['code']} on {on}.",
                    )
                )
    return faults
