"""Streams: what a source has on which weekday."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from apps.feedstock.models import Material
from apps.groups.models import Group
from apps.kernel.words import gettext_noop
from apps.reports.exchange.cells import Code, Day, YesNo
from apps.reports.exchange.number_cells import Thousandths, Whole
from apps.reports.exchange.sheet import Column, Key, Row, Sheet, Values, Writing
from apps.supply.models import Source, Stream
from apps.supply.operations.save_stream import WEEKDAY_FIELDS

WEEKDAY_COLUMNS = {name.replace("_g", "_kg"): name for name in WEEKDAY_FIELDS}


def _current(group: Group) -> Mapping[Key, Values]:
    rows = Stream.objects.of(group).select_related("source", "material")
    return {
        (stream.code,): {
            "code": stream.code,
            "source": stream.source.code,
            "material": stream.material.code,
            **{column: getattr(stream, name) for column, name in WEEKDAY_COLUMNS.items()},
            "spread_percent": stream.spread_percent,
            "kept_days": stream.kept_days,
            "feed_within_days": stream.feed_within_days,
            "divisible": stream.is_divisible,
            "active": stream.is_active,
            "learnt_since_on": stream.learnt_since_on,
        }
        for stream in rows
    }


def _write(writing: Writing, new: Sequence[Row], changed: Sequence[Row]) -> None:
    sources, materials = writing.rows(Source), writing.rows(Material)
    there = writing.rows(Stream) if changed else {}
    added = [Stream(group=writing.group, code=row.values["code"]) for row in new]
    altered = [there[row.values["code"]] for row in changed]
    for stream, row in zip([*added, *altered], [*new, *changed], strict=True):
        stream.source = sources[row.values["source"]]
        stream.material = materials[row.values["material"]]
        for column, name in WEEKDAY_COLUMNS.items():
            setattr(stream, name, row.values[column])
        stream.spread_percent = row.values["spread_percent"]
        stream.kept_days = row.values["kept_days"]
        stream.feed_within_days = row.values["feed_within_days"]
        stream.is_divisible = row.values["divisible"]
        stream.is_active = row.values["active"]
        stream.learnt_since_on = row.values["learnt_since_on"]
    Stream.unscoped.bulk_create(added)
    fields = ["source", "material", *WEEKDAY_FIELDS, "spread_percent", "kept_days"]
    fields += ["feed_within_days", "is_divisible", "is_active", "learnt_since_on"]
    Stream.unscoped.bulk_update(altered, fields, batch_size=50)


STREAMS = Sheet(
    name="streams",
    title=gettext_noop("Streams"),
    about=gettext_noop("One material that a source regularly has, with its usual kilograms."),
    key=("code",),
    columns=(
        Column("code", Code(), gettext_noop("Short code, unique in the group."), True),
        Column("source", Code(), gettext_noop("Code of the source."), True, refers_to="sources"),
        Column(
            "material", Code(), gettext_noop("Code of the material."), True, refers_to="materials"
        ),
        *(
            Column(
                column,
                Thousandths("kg"),
                gettext_noop("Usual kilograms on that weekday; 0 when empty."),
                default=0,
            )
            for column in WEEKDAY_COLUMNS
        ),
        Column(
            "spread_percent",
            Whole(0, 200),
            gettext_noop("Usual difference from that, in %; 30 when empty."),
            default=30,
        ),
        Column(
            "kept_days",
            Whole(0, 14),
            gettext_noop("Days the source keeps it after the day it arises; 0 when empty."),
            default=0,
        ),
        Column(
            "feed_within_days",
            Whole(0, 30),
            gettext_noop("Days until it must be fed; empty: by material and temperature."),
        ),
        Column(
            "divisible",
            YesNo(),
            gettext_noop("no when it goes whole to one home; yes when empty."),
            default=True,
        ),
        Column(
            "active", YesNo(), gettext_noop("no to leave it out; yes when empty."), default=True
        ),
        Column(
            "learnt_since_on",
            Day(),
            gettext_noop("Day it changed hands or goods; what it had before is forgotten."),
        ),
    ),
    current=_current,
    write=_write,
)
