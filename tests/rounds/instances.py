"""Published instances as rounds problems, and answers to them in the published numbers.

Ways are scaled by `SCALE` and rounded up, so that whatever keeps a window here keeps it there.
`stated` walks the same order again in double precision, for the verifier.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from apps.rounds.core.problem import (
    Carrier,
    End,
    Errand,
    Rounds,
    Side,
    Tour,
    Visit,
    Ways,
    Window,
)

DATA = Path(__file__).parent.parent / "data" / "rounds"
SCALE = 10_000
ROUND_OFF = 1e-6
"""Double precision over a tour of a few hundred legs."""


@dataclass(frozen=True, slots=True)
class Instance:
    """`rounds` in scaled whole numbers; `points` as published; `best` vehicles and distance."""

    name: str
    rounds: Rounds
    points: tuple[tuple[float, float], ...]
    best_vehicles: int | None
    best_distance: float


def best_known() -> dict[str, tuple[int | None, float]]:
    """By instance: vehicles (None where they do not count) and distance."""
    found = {}
    for line in (DATA / "README.md").read_text().splitlines():
        cells = [cell.strip() for cell in line.split("|")]
        if len(cells) == 5 and cells[3].replace(".", "").isdigit():
            found[cells[1]] = (int(cells[2]) if cells[2] else None, float(cells[3]))
    return found


def read_instance(name: str) -> Instance:
    """Any instance of the table in `tests/data/rounds/README.md`."""
    if name.startswith("l"):
        return _lilim(name)
    return _cordeau(name) if name.startswith("p") else _solomon(name)


def _lilim(name: str) -> Instance:
    rows = _numbers((DATA / "lilim" / f"{name}.txt").read_text())
    vehicles, capacity, _speed = next(rows)
    nodes = [[int(value) for value in row] for row in rows]
    by_id = {node[0]: node for node in nodes}
    errands = tuple(
        Errand(f"{node[0]:04d}", node[3], _end(node), _end(by_id[node[8]]))
        for node in nodes[1:]
        if node[3] > 0
    )
    carriers = _carriers(int(vehicles), int(capacity), 0, (nodes[0][4], nodes[0][5]))
    return _instance(name, errands, carriers, [(node[1], node[2]) for node in nodes])


def _solomon(name: str) -> Instance:
    """Every customer is fetched from and nothing is brought: a load that stays to the end. With
    windows at the customers only, that is the published problem."""
    text = (DATA / "solomon" / f"{name}.txt").read_text()
    rows = [row for row in _numbers(text) if len(row) in (2, 7)]
    (vehicles, capacity), nodes = rows[0], [[int(value) for value in row] for row in rows[1:]]
    errands = tuple(Errand(f"{node[0]:04d}", node[3], _end(node), None) for node in nodes[1:])
    carriers = _carriers(int(vehicles), int(capacity), 0, (nodes[0][4], nodes[0][5]))
    return _instance(name, errands, carriers, [(node[1], node[2]) for node in nodes])


def _cordeau(name: str) -> Instance:
    """No windows; several depots, each with its own carriers, who come back to it."""
    rows = _numbers((DATA / "cordeau" / f"{name}.txt").read_text())
    per_depot, customers, depots = (int(value) for value in next(rows))
    loads = [int(next(rows)[1]) for _depot in range(depots)]
    nodes = list(rows)[: customers + depots]
    always = Window(0, 10_000 * SCALE)
    errands = tuple(
        Errand(f"{n:04d}", int(node[4]), End(n, always), None)
        for n, node in enumerate(nodes[:customers])
        if node[4]
    )
    carriers = tuple(
        carrier
        for depot, load in enumerate(loads)
        for carrier in _carriers(per_depot, load, customers + depot, (0, 10_000), going_out=0)
    )
    return _instance(name, errands, carriers, [(node[1], node[2]) for node in nodes])


def _numbers(text: str) -> Iterator[list[float]]:
    for line in text.splitlines():
        try:
            row = [float(word) for word in line.split()]
        except ValueError:
            continue
        if row:
            yield row


def _end(node: Sequence[int]) -> End:
    return End(node[0], Window(node[4] * SCALE, node[5] * SCALE), node[6] * SCALE)


GOING_OUT = 2_000 * SCALE
"""More than any carrier saved can lengthen the tours of these instances."""


def _carriers(
    count: int, load: int, place: int, open_: tuple[int, int], going_out: int = GOING_OUT
) -> tuple[Carrier, ...]:
    shift = Window(open_[0] * SCALE, open_[1] * SCALE)
    return tuple(
        Carrier(
            f"{place:04d}-{n:03d}",
            place,
            place,
            shift,
            load,
            metre_cost=1,
            second_cost=0,
            going_out_cost=going_out,
        )
        for n in range(count)
    )


def _instance(
    name: str,
    errands: tuple[Errand, ...],
    carriers: tuple[Carrier, ...],
    points: Sequence[tuple[float, float]],
) -> Instance:
    scaled = Ways.of(*(2 * [[[_scaled(a, b) for b in points] for a in points]]))
    vehicles, distance = best_known()[name]
    rounds = Rounds(errands, carriers, (scaled,))
    return Instance(name, rounds, tuple(points), vehicles, distance)


def _scaled(a: tuple[float, float], b: tuple[float, float]) -> int:
    return math.ceil(round(math.dist(a, b) * SCALE, 6))


def best_tours(name: str) -> tuple[Tour, ...]:
    """The published best known routes of a Li & Lim instance."""
    instance = _lilim(name)
    carriers = iter(instance.rounds.carriers)
    of_node = {}
    for errand in instance.rounds.errands:
        of_node[errand.end(Side.FETCH).place] = Visit(errand.code, Side.FETCH)
        of_node[errand.end(Side.BRING).place] = Visit(errand.code, Side.BRING)
    return tuple(
        Tour(next(carriers).code, tuple(of_node[int(node)] for node in line.split(":")[1].split()))
        for line in (DATA / "lilim" / f"{name}.bks.txt").read_text().splitlines()
        if line.startswith("Route")
    )


def stated(instance: Instance, tours: Sequence[Tour]) -> dict[str, Any]:
    """The answer with the published numbers and double precision, setting out at once."""
    rounds = instance.rounds
    ways = [[math.dist(a, b) for b in instance.points] for a in instance.points]
    return {
        "schema": "neighbourhood-rounds",
        "schema_version": 1,
        "ways": [{"metres": ways, "seconds": ways}],
        "carriers": [
            {
                "code": each.code,
                "start": each.start,
                "end": each.end,
                "from_s": each.shift.from_s / SCALE,
                "till_s": each.shift.till_s / SCALE,
                "load_limit_g": each.load_limit_g,
                "ways": 0,
                "avoids": [],
                "breaks": [],
            }
            for each in rounds.carriers
        ],
        "errands": [
            {
                "code": each.code,
                "amount_g": each.amount_g,
                "value": None,
                "carrier": None,
                "fetch": _stated_end(each.fetch),
                "bring": _stated_end(each.bring),
            }
            for each in rounds.errands
        ],
        "tours": [_stated_tour(rounds, ways, tour) for tour in tours],
        "left": [],
    }


def _stated_end(end: End | None) -> dict[str, float] | None:
    if end is None:
        return None
    return {
        "place": end.place,
        "from_s": end.window.from_s / SCALE,
        "till_s": end.window.till_s / SCALE,
        "service_s": end.service_s / SCALE,
    }


def _stated_tour(rounds: Rounds, ways: list[list[float]], tour: Tour) -> dict[str, Any]:
    carrier = rounds.carrier[tour.carrier]
    here, clock, load = carrier.start, carrier.shift.from_s / SCALE, 0
    metres = gram_metres = 0.0
    visits = []
    for visit in tour.visits:
        errand = rounds.errand[visit.errand]
        end = errand.end(visit.side)
        metres += ways[here][end.place]
        gram_metres += ways[here][end.place] * load
        arrive = clock + ways[here][end.place]
        begin = max(arrive, end.window.from_s / SCALE)
        here, clock = end.place, begin + end.service_s / SCALE
        load += errand.amount_g if visit.side is Side.FETCH else -errand.amount_g
        visits.append(
            {
                "errand": visit.errand,
                "side": visit.side.value,
                "arrive_s": arrive,
                "begin_s": begin,
                "leave_s": clock,
                "load_g": load,
            }
        )
    return {
        "carrier": tour.carrier,
        "depart_s": carrier.shift.from_s / SCALE,
        "back_s": clock + ways[here][carrier.end],
        "metres": metres + ways[here][carrier.end],
        "gram_metres": gram_metres + ways[here][carrier.end] * load,
        "visits": visits,
        "rests": [],
    }
