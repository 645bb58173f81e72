"""All checks of one exported plan."""

from __future__ import annotations

from typing import Any

from apps.planning.verifier.claims import claims_broken
from apps.planning.verifier.limits import limits_passed
from apps.planning.verifier.reading import Plan, shape_faults
from apps.planning.verifier.rota import sources_forgotten
from apps.planning.verifier.violation import Violation


def verify(document: Any) -> list[Violation]:
    """Every broken rule of an exported plan (parsed JSON), sorted; empty for a sound one.

    A document that cannot be read is itself a violation; then only its faults are listed.
    """
    try:
        faults = shape_faults(document)
        if faults:
            return sorted(faults)
        plan = Plan(document)
        return sorted([*limits_passed(plan), *claims_broken(plan), *sources_forgotten(plan)])
    except (KeyError, TypeError, AttributeError, IndexError) as error:
        return [
            Violation(
                "document",
                "document",
                0,
                f"The document lacks or misuses a field: {type(error).__name__} {error}.",
            )
        ]
