"""All checks of one exported answer."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from apps.rounds.verifier.fault import Fault
from apps.rounds.verifier.reasons import false_reasons
from apps.rounds.verifier.walk import walk

SCHEMA = ("neighbourhood-rounds", 1)

__all__ = ["Fault", "verify"]


def verify(document: Any, *, tolerance: float = 0.0) -> list[Fault]:
    """Every broken rule and false claim, sorted; empty for a sound answer. `tolerance` is for
    published instances whose times are not whole numbers.

    A document that cannot be read is itself a fault.
    """
    try:
        if (document["schema"], document["schema_version"]) != SCHEMA:
            return [Fault("document", "", 0, "The schema is not one that this verifier reads.")]
        faults = [*_counts(document)]
        for tour in document["tours"]:
            faults += walk(document, tour, tolerance)
        if not faults:
            faults += false_reasons(document)
    except (KeyError, TypeError, AttributeError, IndexError, ValueError) as error:
        return [
            Fault(
                "document",
                "",
                0,
                f"The document lacks or misuses a field: {type(error).__name__} {error}.",
            )
        ]
    return sorted(faults)


def _counts(document: dict[str, Any]) -> Iterator[Fault]:
    """Each carrier goes out at most once; each errand is done or left out, once."""
    seen: dict[str, int] = {}
    for tour in document["tours"]:
        for code in {visit["errand"] for visit in tour["visits"]}:
            seen[code] = seen.get(code, 0) + 1
    for left in document["left"]:
        seen[left["errand"]] = seen.get(left["errand"], 0) + 1
    known = {errand["code"] for errand in document["errands"]}
    for code in sorted(known | set(seen)):
        times = seen.get(code, 0) if code in known else -1
        if times == 0:
            yield Fault("forgotten", code, 0, f"{code} is neither in a tour nor left out.")
        elif times > 1:
            yield Fault("twice", code, times, f"{code} is counted {times} times.")
        elif times < 0:
            yield Fault("unknown", code, 0, f"{code} is no errand of this problem.")
    out = [tour["carrier"] for tour in document["tours"]]
    for carrier in sorted({code for code in out if out.count(code) > 1}):
        yield Fault("twice", carrier, out.count(carrier), f"{carrier} goes out more than once.")
