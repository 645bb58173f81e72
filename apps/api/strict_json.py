"""JSON read strictly (RFC 8259): what two readers could understand differently is refused."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from typing import IO, Any, NoReturn

from django.utils.translation import gettext as _
from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser

from apps.kernel.errors import Refused

MAX_BYTES = 1_000_000
"""A request is read up to this size; the largest real one, a week of readings, has 100 kB."""
MAX_DIGITS = 30
"""Longer numbers than any amount, and short enough to be read without effort."""


class BodyTooLarge(Refused):
    """The body is larger than is read."""

    code = "too_large"
    status = 413


class StrictJSONParser(BaseParser):
    """`application/json` in UTF-8, without NaN, infinities, doubled names or huge numbers."""

    media_type = "application/json"

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        """Return the value, or say what is wrong with it."""
        raw = stream.read(MAX_BYTES + 1)
        if len(raw) > MAX_BYTES:
            raise BodyTooLarge(
                _("The request has more than %(bytes)s bytes. Send it in parts.")
                % {"bytes": MAX_BYTES},
                figures={"most_bytes": MAX_BYTES},
            )
        return read_json(raw)


def read_json(raw: bytes) -> Any:
    """Parse; raises ParseError with a sentence."""
    try:
        return json.loads(
            raw.decode("utf-8"),
            parse_constant=_refuse_constant,
            parse_float=_read_float,
            parse_int=_read_int,
            object_pairs_hook=_read_object,
        )
    except UnicodeDecodeError as error:
        raise ParseError(
            _("The text is not UTF-8 (byte %(at)s). Send UTF-8.") % {"at": error.start}
        ) from None
    except RecursionError:
        raise ParseError(_("The JSON is nested too deeply. Send a flatter one.")) from None
    except json.JSONDecodeError as error:
        raise ParseError(
            _("This is not JSON: line %(line)s, column %(column)s.")
            % {"line": error.lineno, "column": error.colno}
        ) from None


def _refuse_constant(name: str) -> NoReturn:
    raise ParseError(_("%(name)s is not a number in JSON. Send a finite one.") % {"name": name})


def _read_float(text: str) -> float:
    value = float(text)
    if len(text) > MAX_DIGITS or not math.isfinite(value):
        raise ParseError(
            _("The number %(number)s is too large or too long. Send a plain one.")
            % {"number": text[:MAX_DIGITS]}
        )
    return value


def _read_int(text: str) -> int:
    if len(text) > MAX_DIGITS:
        raise ParseError(
            _("The number %(number)s… is too long. Send a plain one.")
            % {"number": text[:MAX_DIGITS]}
        )
    return int(text)


def _read_object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, value in pairs:
        if name in found:
            raise ParseError(
                _("The name “%(name)s” stands twice in one object. Send it once.")
                % {"name": name[:60]}
            )
        found[name] = value
    return found
