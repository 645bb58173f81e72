"""Open Location Codes: short texts that name a spot of some fourteen metres, for doors without an
address. Specification: "Open Location Code Specification", google/open-location-code
(Apache-2.0); read and written by the package openlocationcode."""

from __future__ import annotations

import re

from openlocationcode import openlocationcode

from apps.kernel.sentences import Sentence, gettext_noop
from apps.places.core.distance import Point
from apps.places.core.unreadable import Unreadable

LEAST_DIGITS = 10
"""A code of ten digits names 1/8000 degree, about 14 m; one of eight about 280 m."""

_LOOKS = re.compile(r"([A-Z0-9]{0,8}\+[A-Z0-9]{0,12})(?:[,\s].*)?", re.IGNORECASE | re.ASCII)

_INVALID = gettext_noop("“%(code)s” is no Open Location Code; copy it again, like %(example)s.")
_COARSE = gettext_noop(
    "The code “%(code)s” names a whole area. Give one with two more characters behind the +."
)
_NO_REFERENCE = gettext_noop(
    "“%(code)s” is a short code, and nothing here says near what. Give the full code, which has "
    "eight characters before the +."
)
EXAMPLE = "796RWF8Q+WF"
"""Any full code would do; this spot is in Praia."""


class UnreadableCode(Unreadable):
    """What is wrong with the code and what to write instead."""


def find_code(text: str) -> str | None:
    """The code at the start of `text`, also when a town is written behind it; None when it does
    not look like one."""
    match = _LOOKS.fullmatch(text.strip())
    return match.group(1).upper() if match else None


def point_of_code(code: str, near: Point | None = None) -> Point:
    """The middle of the spot. A short code is the one nearest to `near`."""
    code = code.strip().upper()
    if not openlocationcode.isValid(code):
        raise UnreadableCode(Sentence(_INVALID, {"code": code[:30], "example": EXAMPLE}))
    if openlocationcode.isShort(code):
        if near is None:
            raise UnreadableCode(Sentence(_NO_REFERENCE, {"code": code}))
        code = openlocationcode.recoverNearest(code, near.latitude, near.longitude)
    area = openlocationcode.decode(code)
    if area.codeLength < LEAST_DIGITS:
        raise UnreadableCode(Sentence(_COARSE, {"code": code}))
    return Point(float(area.latitudeCenter), float(area.longitudeCenter))


def code_of_point(point: Point) -> str:
    """The full code of ten digits."""
    code: str = openlocationcode.encode(point.latitude, point.longitude, LEAST_DIGITS)
    return code
