"""Make a stored plan again from its own document, and compare."""

from __future__ import annotations

from dataclasses import dataclass

from apps.planning.core.canonical import hash_problem
from apps.planning.core.export import plan_document
from apps.planning.core.read_document import fields_unknown_to, problem_of
from apps.planning.core.solve import solve
from apps.planning.models import Plan

COMPARED = ("placements", "feeds", "wishes")


@dataclass(frozen=True)
class Reproduced:
    """Whether the document's inputs carry the stored hash, and which outputs differ."""

    same_inputs: bool
    engine_then: str
    engine_now: str
    differences: tuple[str, ...]

    @property
    def is_same(self) -> bool:
        """Same inputs, same plan."""
        return self.same_inputs and not self.differences


def reproduce_plan(plan: Plan) -> Reproduced:
    """Solve again with the stored seed; nothing is written."""
    document = plan.document
    made = document["provenance"]
    problem = problem_of(document)
    again = plan_document(problem, solve(problem, seed=made["seed"]))
    known = hash_problem(problem, without=fields_unknown_to(document))
    return Reproduced(
        same_inputs=known == plan.input_hash == made["input_hash"],
        engine_then=made["engine"],
        engine_now=again["provenance"]["engine"],
        differences=tuple(part for part in COMPARED if again[part] != document[part]),
    )
