"""Fields for kilograms and litres, read in the reader's locale and kept as whole grams."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.formats import get_format

from apps.kernel.quantities import UnreadableAmount, in_thousands, parse_thousandths
from apps.web.templatetags.shown import say


class ThousandthsField(forms.Field):
    """Text in `unit` to whole thousandths of it; 0 only where `least` is 0."""

    def __init__(self, *, unit: str, least: int = 1, **kwargs: Any) -> None:
        super().__init__(
            widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "short"}),
            **kwargs,
        )
        self.unit, self.least = unit, least

    def to_python(self, value: Any) -> Any:
        """Whole thousandths, or None for an empty field."""
        text = str(value or "").strip()
        if not text:
            return None
        try:
            return parse_thousandths(
                text,
                unit=self.unit,
                decimal_mark=str(get_format("DECIMAL_SEPARATOR")),
                least=self.least,
            )
        except UnreadableAmount as error:
            raise ValidationError(say(error)) from error

    def prepare_value(self, value: Any) -> Any:
        """A stored amount as people type it."""
        if isinstance(value, int):
            return in_thousands(value).replace(".", str(get_format("DECIMAL_SEPARATOR")))
        return value


class KilogramsField(ThousandthsField):
    """Kilograms to grams."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(unit="kg", **kwargs)


class KilopascalsField(ThousandthsField):
    """Kilopascals to pascals."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(unit="kPa", **kwargs)


class LitresField(ThousandthsField):
    """Litres to millilitres."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(unit="L", **kwargs)
