"""How amounts, days and words look on a page, in the reader's own locale."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django import template
from django.template.defaultfilters import date as format_date
from django.utils import formats
from django.utils.translation import gettext

from apps.digesters.core.limit_names import LIMIT_NAMES
from apps.digesters.core.process.digester_view import WarningKind
from apps.digesters.core.warning_names import WARNING_NAMES
from apps.digesters.models import Reading, ReadingKind
from apps.feedstock.models import Evidence
from apps.kernel.errors import Refused
from apps.kernel.quantities import in_thousands
from apps.kernel.sentences import Sentence
from apps.web import names

register = template.Library()

NARROW = "\u00a0"
"""Between a figure and its unit: they stay on one line."""

LEAST_KG_G = 100
"""Less than this is said in grams."""


def _thousandths(amount: int | None, unit: str) -> str:
    """One decimal from one unit on, two below, as far as people weigh; no needless zeros."""
    if amount is None:
        return "–"
    exact = Decimal(amount) / 1000
    step = Decimal("0.1") if abs(exact) >= 1 else Decimal("0.01")
    rounded = exact.quantize(step, ROUND_HALF_UP).normalize()
    shown = formats.number_format(f"{rounded:f}", use_l10n=True, force_grouping=True)
    return f"{shown}{NARROW}{unit}"


@register.filter
def kg(amount_g: int | None) -> str:
    """Grams as kilograms, 12437 gives "12.4 kg"; under a tenth of one, as grams."""
    if amount_g is not None and 0 < abs(amount_g) < LEAST_KG_G:
        return f"{number(amount_g)}{NARROW}g"
    return _thousandths(amount_g, "kg")


@register.filter
def litres(amount_ml: int | None) -> str:
    """Millilitres as litres: 7500 gives "7.5 L"."""
    return _thousandths(amount_ml, "L")


@register.filter
def number(value: float | int | None, decimals: int = 0) -> str:
    """A figure with so many decimals, in the reader's locale."""
    if value is None:
        return "–"
    return formats.number_format(value, decimal_pos=decimals, use_l10n=True, force_grouping=True)


@register.filter
def trimmed(value: Decimal | float | None) -> str:
    """A stored figure without needless zeros."""
    if value is None:
        return "–"
    return formats.number_format(f"{Decimal(str(value)).normalize():f}", use_l10n=True)


@register.filter
def percent(ppm: int | None) -> str:
    """Millionths as a whole percentage."""
    return "–" if ppm is None else f"{round(ppm / 10_000)}{NARROW}%"


@register.filter
def metres(distance_m: int | None) -> str:
    """Metres, in tens: nobody walks to the metre."""
    if distance_m is None:
        return "–"
    return f"{number(round(distance_m, -1))}{NARROW}m"


@register.filter
def day(on: date | str | None) -> str:
    """A day as people say it: "Thu 3 December"."""
    if not on:
        return "–"
    if isinstance(on, str):
        on = date.fromisoformat(on)
    return str(format_date(on, gettext("D j F")))


@register.filter
def clock(minutes: int | None) -> str:
    """Minutes after midnight as a wall-clock time; the end of a day is 24:00."""
    return "–" if minutes is None else f"{minutes // 60:02d}:{minutes % 60:02d}"


@register.filter
def say(sentence: Any) -> str:
    """A sentence or refusal kept apart from its figures, in the reader's language and locale."""
    if isinstance(sentence, Sentence):
        return _filled(sentence.template, sentence.values)
    if isinstance(sentence, Refused):
        return _filled(sentence.template, sentence.figures)
    return gettext(str(sentence)) if sentence else ""


def _filled(template: str, figures: Mapping[str, object]) -> str:
    words = gettext(template)
    if not figures or "%(" not in words:
        return words
    return words % {name: _figure(value) for name, value in figures.items()}


def _figure(value: object) -> object:
    """A figure inside a sentence: a day, a decimal number, or a word that has a translation."""
    if isinstance(value, date):
        return day(value)
    if not isinstance(value, str) or not value:
        return value
    if re.fullmatch(r"\d{4}-\d\d-\d\d", value):
        return day(value)
    if re.fullmatch(r"-?\d+\.\d+", value):
        return value.replace(".", str(formats.get_format("DECIMAL_SEPARATOR")))
    return gettext(value)


@register.filter
def get(mapping: Any, key: Any) -> Any:
    """An entry of a mapping whose key is in a variable; of no mapping, nothing."""
    return mapping.get(key) if mapping else None


@register.filter
def limit_value(limit: Any) -> str:
    """A limit in the unit of its quantity."""
    if limit.quantity == "feed_g":
        return kg(limit.value)
    if limit.quantity == "slurry_ml":
        return litres(limit.value)
    return gettext("%(grams)s g volatile solids") % {"grams": number(limit.value)}


@register.filter
def limit_name(limit_id: str) -> str:
    """What people call a limit."""
    return gettext(LIMIT_NAMES.get(limit_id, limit_id))


@register.filter
def unit_name(unit: str) -> str:
    """A unit as people read it."""
    return names.unit_name(unit)


@register.filter
def evidence(name: str) -> str:
    """How well a figure is known."""
    return str(Evidence(name).label) if name in Evidence.values else name


READING_UNITS = {
    ReadingKind.DRUM_HEIGHT: (1, "mm"),
    ReadingKind.BURNER: (1, "min"),
    ReadingKind.PH: (100, ""),
    ReadingKind.SLURRY_TEMPERATURE: (100, "°C"),
    ReadingKind.AIR_TEMPERATURE: (100, "°C"),
    ReadingKind.PRESSURE: (1, "Pa"),
    ReadingKind.FULLNESS: (1, "/ 4"),
    ReadingKind.FLAME: (1, ""),
    ReadingKind.SOUR_SMELL: (1, ""),
    ReadingKind.GAS_CHECKED: (1, ""),
    ReadingKind.FLARED: (1, "min"),
    ReadingKind.VENTED: (1, "L"),
}
"""What a stored whole number is divided by, and the unit that then stands behind it."""


@register.filter
def reading_value(reading: Reading) -> str:
    """A reading with its unit."""
    divisor, unit = READING_UNITS[ReadingKind(reading.kind)]
    return f"{trimmed(Decimal(reading.value) / divisor)} {unit}".strip()


@register.filter
def brief(value: float) -> str:
    """A figure to about three significant digits, without needless zeros."""
    size = abs(value)
    decimals = 0 if size >= 100 or size == int(size) else 1 if size >= 10 else 2
    return number(round(value, decimals), decimals)


@register.filter
def typed(amount: int) -> str:
    """Grams as somebody would type the kilograms."""
    return in_thousands(amount).replace(".", str(formats.get_format("DECIMAL_SEPARATOR")))


@register.filter
def problem_words(problem: Any) -> str:
    """What is wrong with a file and what to do, in the reader's language."""
    return _filled(problem.template, problem.figures)


@register.filter
def warning_name(kind: str) -> str:
    """What a warning is called."""
    return gettext(WARNING_NAMES[WarningKind(kind)])


@register.filter
def advice(template: str) -> str:
    """Advice kept as a template without places: a doubled percent sign is one."""
    return gettext(template) % ()


@register.filter
def of_100(share: float) -> str:
    """A probability as so many of a hundred."""
    return number(round(share * 100))
