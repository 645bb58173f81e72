"""Is each reason for leaving an errand out true? It is tried again, everywhere."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations_with_replacement
from typing import Any

from apps.rounds.verifier.fault import Fault

Visit = tuple[str, str]
Broken = dict[str, float]


def false_reasons(document: dict[str, Any]) -> Iterator[Fault]:
    """Reasons that a repeat does not bear out."""
    errands = {each["code"]: each for each in document["errands"]}
    carriers = {each["code"]: each for each in document["carriers"]}
    tours = {
        tour["carrier"]: [(visit["errand"], visit["side"]) for visit in tour["visits"]]
        for tour in document["tours"]
    }
    for left in document["left"]:
        errand = errands[left["errand"]]
        if not _is_true(document, errand, carriers, tours, left):
            yield Fault(
                "reason",
                left["errand"],
                left["by"],
                f"{left['errand']} is said to be left out for “{left['why']}”; that is not so.",
            )


def _is_true(
    document: dict[str, Any],
    errand: dict[str, Any],
    carriers: dict[str, dict[str, Any]],
    tours: dict[str, list[Visit]],
    left: dict[str, Any],
) -> bool:
    why = left["why"]
    allowed = [each for each in carriers.values() if errand["carrier"] in (None, each["code"])]
    if why == "bound":
        return not allowed
    carrier = carriers[left["carrier"]]
    ends = _places(errand)
    over_g = errand["amount_g"] - carrier["load_limit_g"]
    if why in ("not_worth", "crowded"):
        return _is_too_dear(document, errand, carrier, tours.get(carrier["code"], []), left)
    if any(_fits_somewhere(document, errand, each, tours) for each in allowed):
        return False
    if why == "avoid":
        return bool(ends & set(carrier["avoids"]))
    if why == "load" and over_g > 0:
        return bool(left["by"] == over_g)
    here = tours.get(carrier["code"], [])
    longer = _put_in(here, errand["code"], left["fetch_at"], left["bring_at"])
    broken, _cost = _try(document, carrier, longer, left["breaks_before"])
    return bool(broken.get(f"late {left['late_at']}" if why == "late" else why) == left["by"])


def _is_too_dear(
    document: dict[str, Any],
    errand: dict[str, Any],
    carrier: dict[str, Any],
    here: Sequence[Visit],
    left: dict[str, Any],
) -> bool:
    """It fits where it is said to, and costs as much more as is said."""
    longer = _put_in(here, errand["code"], left["fetch_at"], left["bring_at"])
    broken, cost = _try(document, carrier, longer, left["breaks_before"])
    extra, worth = cost - _cost_of(document, carrier, here), errand["value"]
    is_not_worth = worth is not None and extra > worth
    if broken or (left["why"] == "not_worth") != is_not_worth:
        return False
    return bool(left["by"] == (extra - worth if is_not_worth else extra))


def _cost_of(document: dict[str, Any], carrier: dict[str, Any], here: Sequence[Visit]) -> float:
    for tour in document["tours"]:
        if tour["carrier"] == carrier["code"]:
            return float(
                carrier["going_out_cost"]
                + carrier["metre_cost"] * tour["metres"]
                + carrier["second_cost"] * (tour["back_s"] - tour["depart_s"])
            )
    return 0.0


def _put_in(here: Sequence[Visit], code: str, fetch_at: int, bring_at: int) -> list[Visit]:
    longer = list(here)
    longer.insert(fetch_at, (code, "fetch"))
    if bring_at != fetch_at:
        longer.insert(bring_at, (code, "bring"))
    return longer


def _places(errand: dict[str, Any]) -> set[int]:
    return {end["place"] for end in (errand["fetch"], errand["bring"]) if end}


def _fits_somewhere(
    document: dict[str, Any],
    errand: dict[str, Any],
    carrier: dict[str, Any],
    tours: dict[str, list[Visit]],
) -> bool:
    """Whether the errand goes into the carrier's tour at any place without a broken limit."""
    if _places(errand) & set(carrier["avoids"]):
        return False
    here = tours.get(carrier["code"], [])
    for fetch_at in range(len(here) + 1):
        bring_at_most = len(here) + 2 if errand["bring"] else fetch_at + 1
        for bring_at in range(fetch_at + bool(errand["bring"]), bring_at_most):
            longer = _put_in(here, errand["code"], fetch_at, bring_at)
            spots = range(len(longer) + 1)
            for before in combinations_with_replacement(spots, len(carrier["breaks"])):
                if not _try(document, carrier, longer, before)[0]:
                    return True
    return False


def _try(
    document: dict[str, Any],
    carrier: dict[str, Any],
    visits: Sequence[Visit],
    breaks_before: Sequence[int],
) -> tuple[Broken, float]:
    """What a tour breaks when it sets out at once, by how much; and what it costs when it sets
    out as late as it can."""
    errands = {each["code"]: each for each in document["errands"]}
    ways = document["ways"][carrier["ways"]]
    load = sum(
        each["amount_g"]
        for each in errands.values()
        if each["fetch"] is None and each["carrier"] == carrier["code"]
    )
    here, clock, metres = carrier["start"], carrier["from_s"], 0
    latest, waited = float("inf"), 0.0
    broken: Broken = {}

    def stop(opens: float, shuts: float, lasts: float, label: str) -> None:
        nonlocal clock, waited, latest
        wait = max(0, opens - clock)
        waited += wait
        clock += wait
        if clock > shuts:
            broken[label] = max(broken.get(label, 0), clock - shuts)
        # Setting out x later is later here by x less the waiting so far.
        latest = min(latest, max(0, shuts - clock) + waited)
        clock += lasts

    def rest(number: int) -> None:
        for before, given in zip(breaks_before, carrier["breaks"], strict=True):
            if before == number:
                stop(given["from_s"], given["till_s"], given["length_s"], "break")

    for number, (code, side) in enumerate(visits):
        end = errands[code][side]
        clock += ways["seconds"][here][end["place"]]
        metres += ways["metres"][here][end["place"]]
        rest(number)
        stop(end["from_s"], end["till_s"], end["service_s"], f"late {number}")
        load += errands[code]["amount_g"] if side == "fetch" else -errands[code]["amount_g"]
        if load > carrier["load_limit_g"]:
            broken["load"] = max(broken.get("load", 0), load - carrier["load_limit_g"])
        here = end["place"]
    clock += ways["seconds"][here][carrier["end"]]
    metres += ways["metres"][here][carrier["end"]]
    rest(len(visits))
    if clock > carrier["till_s"]:
        broken["shift"] = clock - carrier["till_s"]
    out = clock - carrier["from_s"] - min(waited, latest)
    return broken, (
        carrier["going_out_cost"] + carrier["metre_cost"] * metres + carrier["second_cost"] * out
    )
