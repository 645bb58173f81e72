"""What each source is told before closing, from a stored plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from apps.kernel.sentences import Sentence
from apps.planning.core.destinations import Destination, Sending, last_chance_day
from apps.planning.core.notice_words import say_notice
from apps.planning.core.plan_facts import Document, Hours, Names
from apps.planning.core.read_document import problem_of, result_of
from apps.planning.core.source_notices import SourceNotice, source_notices
from apps.planning.models import Plan


@dataclass(frozen=True)
class ToldSource:
    """One source on one day: the facts, and the sentences in the order they are said."""

    on: date
    notice: SourceNotice
    sentences: tuple[Sentence, ...]


def told_sources(plan: Plan, *, on: date | None = None) -> list[ToldSource]:
    """Every notice of the plan, or of one day, by day and source code. No query at all: a
    notice says what was announced, whatever changed since."""
    document = plan.document
    problem, result = problem_of(document), result_of(document)
    batches = {batch.code: batch for batch in problem.batches}
    sendings = []
    for row in document["left_over"]:
        batch = batches.get(row["lot"])
        if batch is not None:
            undecided = min(batch.collect_by_day, batch.feed_by_day) >= problem.days
            day = last_chance_day(problem, batch)
            sendings.append(
                Sending(
                    batch.code,
                    batch.source,
                    day,
                    row["amount_g"],
                    row["destination"],
                    undecided,
                )
            )
    names = document_names(document)
    places = [
        Destination(name, name, 0, {})
        for name in sorted({each.destination for each in sendings if each.destination})
    ]
    told = [
        ToldSource(
            problem.starts_on + timedelta(days=notice.day),
            notice,
            say_notice(problem, notice, names, places),
        )
        for notice in source_notices(problem, result, sendings, _hours(document))
    ]
    return [each for each in told if on is None or each.on == on]


def document_names(document: Document) -> Names:
    """What a document calls things."""

    def names(part: str) -> dict[str, str]:
        return {row["code"]: row["name"] for row in document[part]}

    return Names(
        group=document["group"]["name"],
        time_zone=document["group"]["time_zone"],
        plan=document["plan"],
        digesters=names("digesters"),
        sources=names("sources"),
        materials=names("materials"),
    )


def _hours(document: Document) -> Mapping[tuple[str, int], tuple[Hours, ...]]:
    first = date.fromisoformat(document["days"][0])
    return {
        (end["code"], (date.fromisoformat(on) - first).days): tuple(
            (stretch[0], stretch[1]) for stretch in stretches
        )
        for part in ("sources", "digesters")
        for end in document[part]
        for on, stretches in (end["hours"] or {}).items()
    }
