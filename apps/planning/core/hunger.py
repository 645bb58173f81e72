"""Whether a home of an exported plan falls under its minimum, and whether for want of waste or
because it is not sure what comes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from apps.kernel.sentences import Sentence, gettext_noop
from apps.planning.core.plan_facts import Document
from apps.planning.core.problem import PPM
from apps.planning.core.read_document import batches_of
from apps.planning.core.tables import thousandths

UNSURE = gettext_noop(
    "%(home)s may get too little: %(expected)s kg of volatile solids, what gas is made of, are "
    "expected, enough for its minimum of %(least)s kg, but only %(sure)s kg of them surely come."
)
TOO_LITTLE = gettext_noop(
    "%(home)s gets too little: its minimum is %(least)s kg of volatile solids, what gas is made "
    "of; %(expected)s kg are expected, and %(sure)s kg surely come."
)


@dataclass(frozen=True, slots=True)
class Hunger:
    """VS that a plan feeds a home over all days (g, rounded down), as expected and if batches
    bring no more than their low figure, against its minimum, which the latter is under."""

    digester: str
    name: str
    expected_vs_g: int
    sure_vs_g: int
    least_vs_g: int

    @property
    def is_unsure_only(self) -> bool:
        """As expected it would be enough."""
        return self.expected_vs_g >= self.least_vs_g

    def say(self) -> Sentence:
        return Sentence(
            UNSURE if self.is_unsure_only else TOO_LITTLE,
            {
                "home": self.name,
                "expected": thousandths(self.expected_vs_g),
                "sure": thousandths(self.sure_vs_g),
                "least": thousandths(self.least_vs_g),
            },
        )


def hungry_homes(document: Document, only: Iterable[str] | None = None) -> tuple[Hunger, ...]:
    """By code; `only` these digesters' codes."""
    digesters = {
        row["code"]: row
        for row in document["digesters"]
        if row["min_vs_g"] and (only is None or row["code"] in only)
    }
    batches = batches_of(document)
    vs_ppm = {row["code"]: row["vs_ppm"] for row in document["materials"]}
    usable_ppm = {
        (row["source"], row["digester"]): row["usable_ppm"]
        for row in document["pairs"]
        if row["digester"] in digesters
    }
    expected = dict.fromkeys(digesters, Fraction(0))
    sure = dict.fromkeys(digesters, Fraction(0))
    for row in document["feeds"]:
        home = row["digester"]
        if home not in digesters:
            continue
        batch = batches.get(row["lot"])
        part = Fraction(row["amount_g"] * vs_ppm[row["material"]], PPM)
        if batch is not None:
            part *= Fraction(usable_ppm.get((batch.source, home), PPM), PPM)
        expected[home] += part
        sure[home] += part if batch is None else part * Fraction(batch.sure_ppm, PPM)
    return tuple(
        Hunger(code, row["name"], int(expected[code]), int(sure[code]), row["min_vs_g"])
        for code, row in sorted(digesters.items())
        if sure[code] < row["min_vs_g"]
    )
