"""Why each assignment, why each left-over, and how good a plan is, in sentences."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from apps.kernel.sentences import Sentence
from apps.planning.core.explain import explain_left_over, explain_placement
from apps.planning.core.lookup import Index
from apps.planning.core.problem import Placement
from apps.planning.core.read_document import problem_of, result_of
from apps.planning.core.sentences import Speaker
from apps.planning.core.standing import Standing
from apps.planning.core.wish_words import wish_sentence
from apps.planning.models import Assignment, Plan
from apps.planning.queries.batches import batch_code
from apps.planning.queries.source_notices import document_names


@dataclass(frozen=True)
class Why:
    """Sentences about one batch: the first is the answer, the others are the details."""

    sentences: tuple[Sentence, ...]
    others: tuple[tuple[str, Sentence], ...] = ()
    """For each other home in reach (its code), nearest first, why not there."""


class PlanExplainer:
    """Explains one stored plan; making one costs a moment, each answer little. Reads the
    document only, so that it explains what was announced, whatever changed since."""

    def __init__(self, plan: Plan) -> None:
        problem = problem_of(plan.document)
        self.starts_on = problem.starts_on
        self.standing = Standing.of(problem, result_of(plan.document))
        self.speaker = Speaker(Index(problem), document_names(plan.document))

    def why_assignment(self, assignment: Assignment) -> Why:
        """Why this home: how near it is, and what each other home would have meant."""
        placement = self._placement(assignment)
        why = explain_placement(self.standing, placement)
        fixed = (self.speaker.say(why.fixed),) if why.fixed else ()
        homes = [
            pair.digester
            for pair in self.standing.index.homes_near[
                self.standing.index.batches[placement.batch].source
            ]
            if pair.digester != placement.digester
        ]
        return Why(
            sentences=(
                *fixed,
                self.speaker.say_pair(why),
                *self.speaker.say_steady_pair_left(why),
            ),
            others=tuple(
                (home, self.speaker.say(reason))
                for home, reason in zip(homes, why.others, strict=True)
            ),
        )

    def why_steady_pair_left(
        self, assignments: Sequence[Assignment], digester: str
    ) -> tuple[Sentence, ...]:
        """Why the largest of what a source gives elsewhere does not go to its steady home; no
        words where the document knows no such steady pair."""
        for assignment in assignments[:1]:
            why = explain_placement(self.standing, self._placement(assignment))
            return self.speaker.say_steady_pair_left(why, digester)
        return ()

    def _placement(self, assignment: Assignment) -> Placement:
        return Placement(
            batch_code(assignment.stream.code, assignment.batch_on),
            assignment.digester.code,
            (assignment.on - self.starts_on).days,
            assignment.amount_g,
        )

    def why_left_over(self, stream_code: str, batch_on: date) -> Why:
        """What stopped each home, and the smallest change that would place it."""
        why = explain_left_over(self.standing, batch_code(stream_code, batch_on))
        homes = [
            pair.digester
            for pair in self.standing.index.homes_near[
                self.standing.index.batches[why.batch].source
            ]
        ]
        return Why(
            sentences=(self.speaker.say(why.main), *self.speaker.say_change(why.change)),
            others=tuple(
                (home, self.speaker.say(reason))
                for home, reason in zip(homes, why.homes, strict=False)
            ),
        )


@dataclass(frozen=True)
class WishLine:
    """One wish of the plan: what it means, its value, the least any plan could have."""

    name: str
    sentence: Sentence
    value: float
    bound: float

    @property
    def distance(self) -> float:
        """How far the plan may be from the best; 0 when it is proved best."""
        return self.value - self.bound


def wish_lines(plan: Plan) -> list[WishLine]:
    """Most important first, each with its bound."""
    return [
        WishLine(
            row["name"],
            wish_sentence(row["name"], row["value"], row["bound"]),
            row["value"],
            row["bound"],
        )
        for row in plan.document["wishes"]
    ]
