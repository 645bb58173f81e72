"""A plan document as text for a terminal: who brings what to whom, and why not more."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from textwrap import wrap

from apps.planning.core.hunger import hungry_homes
from apps.planning.core.plan_facts import Document
from apps.planning.core.tables import thousandths
from apps.planning.core.wish_words import wish_sentence

WIDTH = 100

LEAST_LAST_WIDTH = 30
"""Columns that the last cell of a row may use, however wide the others are."""

ONE_UNIT, EXACT_UNDER = 1_000, 10
"""Grams or millilitres."""

Times = Mapping[tuple[str, str, str], str]
"""When a pickup may begin, by source, digester and ISO date, e.g. "08:00-10:00"."""


def plan_text(document: Document, times: Times | None = None) -> str:
    """The whole plan, in the order in which people ask."""
    return "\n".join(
        [
            *_head(document),
            *_pickups(document, times or {}),
            *_digesters(document),
            *_left_over(document),
            *_rota(document),
            *_wishes(document),
        ]
    )


def _head(document: Document) -> list[str]:
    first, last = document["days"][0], document["days"][-1]
    placed_g = sum(row["amount_g"] for row in document["placements"])
    offered_g = sum(row["amount_g"] for row in document["batches"])
    return [
        f"{document['group']['name']}: plan {document['plan'] or 'draft'}, {first} to {last}",
        f"{_kg(placed_g)} of {_kg(offered_g)} kg on offer are placed, in "
        f"{len(_visits(document))} pickups, at {len(document['digesters'])} digesters.",
    ]


def _pickups(document: Document, times: Times) -> list[str]:
    sources, homes = _names(document, "sources"), _names(document, "digesters")
    batches = {row["code"]: row for row in document["batches"]}
    materials = _names(document, "materials")
    lines = _title("Who brings what to whom, when")
    for on in document["days"]:
        rows = []
        for source, digester in sorted(
            (source, digester) for source, digester, day in _visits(document) if day == on
        ):
            loads = Counter[str]()
            for row in document["placements"]:
                if (row["source"], row["digester"], row["on"]) == (source, digester, on):
                    loads[materials[batches[row["batch"]]["material"]]] += row["amount_g"]
            what = ", ".join(f"{_kg(amount_g)} kg {name}" for name, amount_g in loads.items())
            rows.append(
                [times.get((source, digester, on), ""), sources[source], homes[digester], what]
            )
        lines += [_weekday(on), *_table(rows or [["", "nobody", "", "nothing is collected"]])]
    return lines


def _digesters(document: Document) -> list[str]:
    recipes = {(row["digester"], row["on"]): row for row in document["recipes"]}
    fed = defaultdict[tuple[str, str], int](int)
    for row in document["feeds"]:
        fed[row["digester"], row["on"]] += row["usable_g"]
    days = defaultdict[str, list[Document]](list)
    for row in document["digester_days"]:
        days[row["digester"]].append(row)
    hungry = {each.digester: each for each in hungry_homes(document)}
    lines = _title("What each digester is fed, and the rule that stops more")
    for digester in document["digesters"]:
        of = days[digester["code"]]
        most = max(row["max_feed_g"] for row in of)
        most_vs = max(row["max_vs_g"] for row in of)
        lines.append(f"{digester['name']} ({digester['code']})")
        lines += _wrapped(
            f"feed range: at least {_kg(digester['min_vs_g'])} kg volatile solids brought in the "
            f"week; at most {_kg(most)} kg a day, or {_kg(most_vs)} kg volatile solids",
            "  ",
        )
        rules = Counter(row["binding_rule"] for row in of)
        for rule, count in rules.most_common():
            where = "" if len(rules) == 1 else f" ({count} of {len(of)} days)"
            lines += _wrapped(f"rule that binds{where}: {rule}", "  ")
        if digester["code"] in hungry:
            lines += _wrapped(str(hungry[digester["code"]].say()), "  ")
        rows = [["", "day", "own kg", "brought kg", "target VS kg", "water L", "recipe"]]
        for row in of:
            recipe = recipes.get((row["digester"], row["on"]))
            rows.append(
                [
                    "",
                    _weekday(row["on"]),
                    _kg(sum(waste["amount_g"] for waste in row["own_waste"])),
                    _kg(fed[row["digester"], row["on"]]),
                    _kg(row["target_vs_g"]),
                    _kg(recipe["water_ml"]) if recipe else "0",
                    recipe["words"] if recipe else "nothing is fed",
                ]
            )
        lines += _table(rows)
    return lines


def _left_over(document: Document) -> list[str]:
    sources = _names(document, "sources")
    by_source = defaultdict[str, list[Document]](list)
    for row in document["left_over"]:
        by_source[row["source"] or ""].append(row)
    total_g = sum(row["amount_g"] for row in document["left_over"])
    lines = _title(f"What nobody feeds: {_kg(total_g)} kg, where it goes, and why")
    for source, rows in sorted(by_source.items()):
        went = Counter[str]()
        for row in rows:
            went[row["destination"] or "stays with the source"] += row["amount_g"]
        where = "; ".join(f"{_kg(amount_g)} kg: {place}" for place, amount_g in went.most_common())
        lines.append(f"{sources.get(source, 'In a bin')}: {where}")
        largest = max(rows, key=lambda row: (row["amount_g"], row["lot"]))
        if largest["reason"]:
            lines += _wrapped(f"{_kg(largest['amount_g'])} kg of {largest['lot']}: "
                              f"{largest['reason']}", "  ")  # fmt: skip
        if largest["smallest_change"]:
            lines += _wrapped(largest["smallest_change"], "  ")
    return lines


def _rota(document: Document) -> list[str]:
    visited: dict[str, str] = {}
    for source, _digester, on in sorted(_visits(document), key=lambda visit: visit[2]):
        visited.setdefault(source, on)
    rows = [["source", "waited", "somebody comes"]]
    for row in document["sources"]:
        waited = "never visited" if row["waited_days"] is None else f"{row['waited_days']} days"
        next_on = visited.get(row["code"])
        rows.append([row["name"], waited, _weekday(next_on) if next_on else "nobody in these days"])
    limit = document["rules"]["rota_limit_days"]
    return [*_title(f"Whose turn it is (nobody should wait longer than {limit} days)"),
            *_table(rows)]  # fmt: skip


def _wishes(document: Document) -> list[str]:
    lines = _title("How far from the best possible, most important first")
    for number, wish in enumerate(document["wishes"], start=1):
        sentence = wish_sentence(wish["name"], wish["value"], wish["bound"])
        lines += _wrapped(f"{number}. {sentence}", "")
    made = document["provenance"]
    return [
        *lines,
        f"Made with {made['engine']}, seed {made['seed']}, {made['iterations']} iterations, "
        f"stopped by {made['stopped_by']}; inputs {made['input_hash'][:12]}.",
    ]


def _visits(document: Document) -> set[tuple[str, str, str]]:
    return {(row["source"], row["digester"], row["on"]) for row in document["placements"]}


def _names(document: Document, part: str) -> dict[str, str]:
    return {row["code"]: row["name"] for row in document[part]}


def _kg(amount: int) -> str:
    """As far as people weigh: to 0.1 from one unit on, to 0.01 below, exactly under ten grams."""
    if 0 < abs(amount) < EXACT_UNDER:
        return thousandths(amount)
    step = 100 if abs(amount) >= ONE_UNIT else 10
    return thousandths((amount + step // 2) // step * step)


def _weekday(on: str) -> str:
    return date.fromisoformat(on).strftime("%a ") + on


def _title(text: str) -> list[str]:
    return ["", text, "-" * len(text)]


def _wrapped(text: str, indent: str) -> list[str]:
    return wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent + "  ")


def _table(rows: Sequence[Sequence[str]]) -> Iterable[str]:
    """Columns as wide as their widest cell; the last one is wrapped to the terminal."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]) - 1)]
    used = 2 + sum(width + 2 for width in widths)
    for row in rows:
        cells = "".join(cell.ljust(width) + "  " for cell, width in zip(row, widths, strict=False))
        first, *more = wrap(row[-1], max(LEAST_LAST_WIDTH, WIDTH - used)) or [""]
        yield f"  {cells}{first}".rstrip()
        yield from (" " * used + "  " + line for line in more)
