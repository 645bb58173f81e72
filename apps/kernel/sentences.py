"""Sentences kept apart from their figures, so that pages can say them in any language."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from apps.kernel.words import gettext_noop

__all__ = ["Sentence", "gettext_noop"]


@dataclass(frozen=True)
class Sentence:
    """An English template with named places, e.g. ``"%(kg)s kg a day"``, and their values."""

    template: str
    values: Mapping[str, str | int | float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "values", MappingProxyType(dict(self.values)))

    def __hash__(self) -> int:
        return hash((self.template, tuple(sorted(self.values.items()))))

    def __str__(self) -> str:
        return self.template % self.values
