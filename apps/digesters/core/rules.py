"""The rules behind every limit: value, validity, source, evidence, and who may change it."""

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType

from apps.kernel.figures import EVIDENCE, FigureError, finite

TABLE = Path(__file__).resolve().parents[3] / "fixtures" / "digesters" / "limits.csv"

COLUMNS = (
    "id", "value", "unit", "tighter", "loosest", "validity", "meaning", "source", "evidence",
)  # fmt: skip


@dataclass(frozen=True)
class Rule:
    """One rule. ``tighter``: the direction, ``lower`` or ``higher``, that makes it stricter;
    ``loosest``: the value nobody may go beyond."""

    id: str
    value: float
    unit: str
    tighter: str
    loosest: float
    validity: str
    meaning: str
    source: str
    evidence: str

    def __post_init__(self) -> None:
        name = f"The rule {self.id}"
        finite(self.value, name, self.unit)
        if self.tighter not in ("lower", "higher"):
            raise FigureError(f"{name}: tighter is {self.tighter!r}; use lower or higher.")
        if self.evidence not in EVIDENCE:
            raise FigureError(f"{name}: evidence {self.evidence!r} is unknown.")
        if not self.source.strip():
            raise FigureError(f"{name} has no source; name one or say that it is assumed.")
        if self.is_looser(self.value, self.loosest):
            raise FigureError(
                f"{name} is {self.value:g} {self.unit}; nobody may go beyond "
                f"{self.loosest:g} {self.unit}."
            )

    @property
    def is_assumed(self) -> bool:
        """Whether an operator has yet to confirm it."""
        return self.evidence == "assumed"

    def is_looser(self, value: float, than: float) -> bool:
        """Whether ``value`` is less strict than ``than``."""
        return value > than if self.tighter == "lower" else value < than


@dataclass(frozen=True)
class LimitRules:
    """A group's rules by id, and the local rules it named for switched risk groups.

    ``local_rules`` maps ``cooked`` and ``animal`` to the local rule that allows them; a group
    absent from it is off.
    """

    rules: Mapping[str, Rule]
    local_rules: Mapping[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for risk_group, rule in self.local_rules.items():
            if not rule.strip():
                raise FigureError(
                    f"Name the local rule that allows {risk_group} waste, or leave it off."
                )
        object.__setattr__(self, "rules", MappingProxyType(dict(self.rules)))
        object.__setattr__(self, "local_rules", MappingProxyType(dict(self.local_rules)))

    def __getitem__(self, rule_id: str) -> Rule:
        try:
            return self.rules[rule_id]
        except KeyError:
            raise FigureError(f"There is no rule {rule_id!r} among the limits.") from None

    def value(self, rule_id: str) -> float:
        """The rule's value, in its own unit."""
        return self[rule_id].value

    def share(self, rule_id: str) -> float:
        """A percentage rule as a share 0..1."""
        return self[rule_id].value / 100


def read_rules(path: Path = TABLE) -> LimitRules:
    """Read the published and assumed rules that every group starts from."""
    return parse_rules(path.read_text(encoding="utf-8"))


def parse_rules(text: str) -> LimitRules:
    """Make rules of the table's text; a refusal names the row."""
    reader = csv.DictReader(io.StringIO(text))
    missing = [name for name in COLUMNS if name not in (reader.fieldnames or ())]
    if missing:
        raise FigureError(f"The column {missing[0]} is missing.")
    rules: dict[str, Rule] = {}
    for number, row in enumerate(reader, start=2):
        if row["id"] in rules:
            raise FigureError(f"Row {number}: the rule {row['id']} is listed twice.")
        try:
            value, loosest = float(row["value"]), float(row["loosest"])
        except ValueError:
            raise FigureError(
                f"Row {number}: value {row['value']!r} and loosest {row['loosest']!r} "
                "must be numbers."
            ) from None
        texts = {name: row[name] for name in COLUMNS if name not in ("value", "loosest")}
        rules[row["id"]] = Rule(value=value, loosest=loosest, **texts)
    return LimitRules(rules)


def change_rule(
    rules: LimitRules, rule_id: str, value: float, *, asked_by: str, confirmed_by: str = ""
) -> LimitRules:
    """Change one rule. Tightening needs one person; loosening a second, other one."""
    rule = rules[rule_id]
    finite(value, f"The rule {rule_id}", rule.unit)
    if rule.is_looser(value, rule.value) and confirmed_by in ("", asked_by):
        raise FigureError(
            f"{rule_id} from {rule.value:g} to {value:g} {rule.unit} loosens a limit; "
            "a second person must confirm it."
        )
    changed = replace(rule, value=value, source=f"Set by {asked_by}; before: {rule.source}")
    return replace(rules, rules={**rules.rules, rule_id: changed})
