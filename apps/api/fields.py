"""Fields that take one spelling of a value and refuse every other."""

from __future__ import annotations

import re
import unicodedata
from datetime import date, datetime
from typing import Any

from django.utils.translation import gettext_lazy as _
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from apps.groups.models import Coded
from apps.kernel.quantities import MAX_FACT

FIRST_DAY, LAST_DAY = date(2000, 1, 1), date(2100, 12, 31)
"""Days outside are slips of the pen."""

_BIDI = {"\u202a", "\u202b", "\u202c", "\u202d", "\u202e", "\u2066", "\u2067", "\u2068", "\u2069"}
"""Characters that make text read differently from what it says."""


class Whole(serializers.IntegerField):
    """A whole number: in JSON a number without decimals, in an address plain digits."""

    default_error_messages = {"whole": _("Send a whole number, such as 1200.")}

    def to_internal_value(self, data: Any) -> int:
        """Refuse text, booleans, decimals, `1_000` and digits of other scripts."""
        if isinstance(data, str) and self.context.get("from_address"):
            if not re.fullmatch(r"-?[0-9]{1,12}", data, flags=re.ASCII):
                self.fail("whole")
            return int(data)
        if isinstance(data, bool) or not isinstance(data, int):
            self.fail("whole")
        return data


class Grams(Whole):
    """Whole grams of one fact."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"min_value": 1, "max_value": MAX_FACT, **kwargs})


class Millilitres(Grams):
    """Whole millilitres of one fact."""


class YesNo(serializers.BooleanField):
    """true or false, nothing that looks like it."""

    default_error_messages = {"yes_no": _("Send true or false.")}

    def to_internal_value(self, data: Any) -> bool:
        """Booleans; in an address the two words."""
        if self.context.get("from_address") and data in ("true", "false"):
            return bool(data == "true")
        if not isinstance(data, bool):
            self.fail("yes_no")
        return bool(data)


class Text(serializers.CharField):
    """One line of text, or several when `lines` is set, without control or direction marks."""

    default_error_messages = {
        "text": _("Send text."),
        "characters": _("The text holds a character that cannot be shown (%(name)s)."),
    }

    def __init__(self, *, lines: bool = False, **kwargs: Any) -> None:
        self.lines = lines
        super().__init__(**kwargs)

    def to_internal_value(self, data: Any) -> str:
        """Refuse anything but text."""
        if not isinstance(data, str):
            self.fail("text")
        for character in data:
            allowed = self.lines and character in "\n\t"
            bad = unicodedata.category(character) in ("Cc", "Cs") or character in _BIDI
            if bad and not allowed:
                raise serializers.ValidationError(
                    self.error_messages["characters"] % {"name": f"U+{ord(character):04X}"},
                    code="characters",
                )
        return str(super().to_internal_value(data))


class Code(serializers.RegexField):
    """A short code: letters, digits, hyphens and underscores."""

    default_error_messages = {
        "invalid": _("Send a code of up to 40 letters (a–z), digits, - and _.")
    }

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"regex": r"^[-a-zA-Z0-9_]{1,40}$", "max_length": 40, **kwargs})

    def to_internal_value(self, data: Any) -> str:
        """Refuse numbers, which the base class would spell out."""
        if not isinstance(data, str) or data.endswith("\n"):
            self.fail("invalid")
        return str(super().to_internal_value(data))


class Day(serializers.DateField):
    """A local date of the group, YYYY-MM-DD."""

    default_error_messages = {
        "day": _("Send a date as YYYY-MM-DD."),
        "far": _("Send a date between 2000 and 2100."),
    }

    def to_internal_value(self, value: Any) -> date:
        """One spelling of ISO 8601, within the years people mean."""
        if not isinstance(value, str) or not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value):
            self.fail("day")
        try:
            on = date.fromisoformat(value)
        except ValueError:
            self.fail("day")
        if not FIRST_DAY <= on <= LAST_DAY:
            self.fail("far")
        return on


class Instant(serializers.DateTimeField):
    """An instant with its offset from UTC (RFC 3339)."""

    default_error_messages = {
        "instant": _("Send an instant such as 2026-03-01T07:30:00Z, with Z or an offset."),
    }
    _pattern = re.compile(
        r"[0-9]{4}-[0-9]{2}-[0-9]{2}[Tt][0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]{1,6})?"
        r"([Zz]|[+-][0-9]{2}:[0-9]{2})"
    )

    def to_internal_value(self, value: Any) -> datetime:
        """Without an offset nobody knows which instant is meant."""
        if not isinstance(value, str) or not self._pattern.fullmatch(value):
            self.fail("instant")
        try:
            at = datetime.fromisoformat(value.upper())
        except ValueError:
            self.fail("instant")
        if not FIRST_DAY <= at.date() <= LAST_DAY:
            self.fail("instant")
        return at


@extend_schema_field(OpenApiTypes.STR)
class Named(serializers.Field):
    """The code of something in the group of the address; becomes the thing itself."""

    default_error_messages = {
        "unknown": _("There is no {kind} “{code}” in this group. Check the code."),
        "code": _("Send the code as text."),
    }

    def __init__(self, model: type[Coded], **kwargs: Any) -> None:
        self.model = model
        super().__init__(**kwargs)

    def to_internal_value(self, data: Any) -> Coded:
        """Look it up; another group's code is as unknown as one that nobody has."""
        if not isinstance(data, str) or "\x00" in data:
            self.fail("code")
        group = self.context["admission"].group
        found = self.model.objects.of(group).filter(code=data[:60]).first()
        if found is None:
            self.fail("unknown", kind=self.model._meta.verbose_name, code=data[:60])
        return found  # type: ignore[no-any-return]

    def to_representation(self, value: Coded) -> str:
        """Its code."""
        return value.code
