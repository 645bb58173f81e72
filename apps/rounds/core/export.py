"""An answer as plain data, for the verifier and for keeping with a round."""

from __future__ import annotations

from typing import Any

from apps.rounds.core.answer import Answer
from apps.rounds.core.problem import Carrier, End, Errand
from apps.rounds.core.schedule import Timing

SCHEMA = "neighbourhood-rounds"
SCHEMA_VERSION = 1


def export(answer: Answer) -> dict[str, Any]:
    """JSON-ready; every figure has its unit in its name (`_s`, `_g`, or metres)."""
    return {
        "schema": SCHEMA,
        "schema_version": SCHEMA_VERSION,
        "ways": [
            {"metres": [list(row) for row in ways.metres], "seconds": [*map(list, ways.seconds)]}
            for ways in answer.rounds.ways
        ],
        "carriers": [_carrier(each) for each in answer.rounds.carriers],
        "errands": [_errand(each) for each in answer.rounds.errands],
        "tours": [_tour(each) for each in answer.tours],
        "left": [
            {
                "errand": left.errand,
                "carrier": left.carrier,
                "why": left.why.value,
                "by": left.by,
                "fetch_at": left.fetch_at,
                "bring_at": left.bring_at,
                "breaks_before": list(left.breaks_before),
                "late_at": left.late_at,
            }
            for left in answer.left
        ],
    }


def _carrier(carrier: Carrier) -> dict[str, Any]:
    return {
        "code": carrier.code,
        "start": carrier.start,
        "end": carrier.end,
        "from_s": carrier.shift.from_s,
        "till_s": carrier.shift.till_s,
        "load_limit_g": carrier.load_limit_g,
        "ways": carrier.ways,
        "avoids": sorted(carrier.avoids),
        "breaks": [
            {
                "from_s": rest.window.from_s,
                "till_s": rest.window.till_s,
                "length_s": rest.length_s,
            }
            for rest in carrier.breaks
        ],
        "metre_cost": carrier.metre_cost,
        "second_cost": carrier.second_cost,
        "going_out_cost": carrier.going_out_cost,
    }


def _errand(errand: Errand) -> dict[str, Any]:
    return {
        "code": errand.code,
        "material": errand.material,
        "amount_g": errand.amount_g,
        "value": errand.value,
        "carrier": errand.carrier,
        "fetch": _end(errand.fetch) if errand.fetch else None,
        "bring": _end(errand.bring) if errand.bring else None,
    }


def _end(end: End) -> dict[str, int]:
    return {
        "place": end.place,
        "from_s": end.window.from_s,
        "till_s": end.window.till_s,
        "service_s": end.service_s,
    }


def _tour(timed: Timing) -> dict[str, Any]:
    return {
        "carrier": timed.carrier,
        "depart_s": timed.depart_s,
        "back_s": timed.back_s,
        "metres": timed.metres,
        "gram_metres": timed.gram_metres,
        "visits": [
            {
                "errand": moment.visit.errand,
                "side": moment.visit.side.value,
                "arrive_s": moment.arrive_s,
                "begin_s": moment.begin_s,
                "leave_s": moment.leave_s,
                "load_g": moment.load_g,
            }
            for moment in timed.moments
        ],
        "rests": [
            {"before": rest.before, "begin_s": rest.begin_s, "length_s": rest.length_s}
            for rest in timed.rests
        ],
    }
