"""A small strict reader of RFC 5545, written from the standard and sharing nothing with the
library that writes our calendars. Raises AssertionError naming the section that is broken."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

NAME = re.compile(r"[A-Za-z0-9-]+")
UTC_TIME = re.compile(r"\d{8}T\d{6}Z")
DURATION = re.compile(r"-?P(\d+W|(\d+D)?(T(\d+H)?(\d+M)?(\d+S)?)?)")
STATUSES = {"TENTATIVE", "CONFIRMED", "CANCELLED"}
ONCE_IN_EVENT = {
    "DTSTAMP", "UID", "DTSTART", "DTEND", "DESCRIPTION", "LOCATION", "SEQUENCE", "STATUS",
    "SUMMARY", "TRANSP",
}  # fmt: skip


@dataclass
class Component:
    """Its name, its properties as (name, parameters, value), and what is inside."""

    name: str
    properties: list[tuple[str, str, str]] = field(default_factory=list)
    inside: list[Component] = field(default_factory=list)

    def value(self, name: str) -> str:
        """The one value of a property."""
        [found] = [value for key, _params, value in self.properties if key == name]
        return found


def read_calendar(octets: bytes) -> Component:
    """Read and check one VCALENDAR."""
    for line in octets.split(b"\r\n"):
        assert len(line) <= 75, f"3.1: a line of {len(line)} octets"
    text = octets.decode("utf-8")
    assert text.endswith("\r\n"), "3.1: the last line has no CRLF"
    assert "\n" not in text.replace("\r\n", ""), "3.1: a bare LF"
    assert not re.search(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", text), "3.1: a control character"
    lines = text.replace("\r\n ", "").replace("\r\n\t", "").split("\r\n")[:-1]
    stack: list[Component] = []
    root: Component | None = None
    for line in lines:
        name, params, value = split_line(line)
        if name == "BEGIN":
            component = Component(value)
            (stack[-1].inside.append(component) if stack else None)
            stack.append(component)
        elif name == "END":
            done = stack.pop()
            assert done.name == value, f"3.6: {value} ends {done.name}"
            root = done
        else:
            stack[-1].properties.append((name, params, value))
    assert root is not None
    assert not stack, "3.6: a component does not end"
    check_calendar(root)
    return root


def split_line(line: str) -> tuple[str, str, str]:
    """3.1: name *(";" param) ":" value, where quoted parameter values may hold colons."""
    match = NAME.match(line)
    assert match, f"3.1: no name in {line!r}"
    quoted = False
    for at in range(match.end(), len(line)):
        if line[at] == '"':
            quoted = not quoted
        elif line[at] == ":" and not quoted:
            return match.group().upper(), line[match.end() : at], line[at + 1 :]
    raise AssertionError(f"3.1: no colon in {line!r}")


def check_calendar(calendar: Component) -> None:
    """3.6: PRODID and VERSION once; 3.6.1: what an event must have, and at most once."""
    assert calendar.name == "VCALENDAR"
    assert calendar.value("VERSION") == "2.0"
    assert calendar.value("PRODID")
    uids = [event.value("UID") for event in calendar.inside]
    assert len(uids) == len(set(uids)), "3.8.4.7: a UID is used twice"
    for event in calendar.inside:
        assert event.name == "VEVENT"
        names = [name for name, _params, _value in event.properties]
        for name in ONCE_IN_EVENT & set(names):
            assert names.count(name) == 1, f"3.6.1: {name} more than once"
        for name in ("DTSTAMP", "DTSTART", "DTEND"):
            assert UTC_TIME.fullmatch(event.value(name)), f"3.3.5: {event.value(name)}"
        assert event.value("DTEND") > event.value("DTSTART"), "3.8.2.2: it ends before it begins"
        assert event.value("STATUS") in STATUSES, "3.8.1.11"
        assert event.value("SEQUENCE").isdigit(), "3.8.7.4"
        for name in ("SUMMARY", "LOCATION", "DESCRIPTION"):
            check_text(event.value(name))


def check_text(value: str) -> None:
    """3.3.11: backslash, semicolon and comma are escaped; nothing else is."""
    rest = re.sub(r"\\[\\;,nN]", "", value)
    assert not re.search(r"[\\;,]", rest), f"3.3.11: {value!r}"


def plain_text(value: str) -> str:
    """3.3.11, read back."""
    return re.sub(r"\\([\\;,nN])", lambda m: "\n" if m.group(1) in "nN" else m.group(1), value)
