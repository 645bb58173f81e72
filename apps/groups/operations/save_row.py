"""Save one row of a group's table, or say which field cannot be."""

from __future__ import annotations

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db import models

from apps.kernel.errors import Refused
from apps.kernel.words import gettext_noop


class UnfitRow(Refused):
    """A field holds what it cannot hold; `field` names it."""

    code = "unfit_row"


def save_row(row: models.Model) -> None:
    """Check the whole row, then save it."""
    check_row(row)
    row.save()


def check_row(row: models.Model) -> None:
    """Raise `UnfitRow` for the first field that cannot be saved."""
    for field in row._meta.concrete_fields:
        value = getattr(row, field.attname)
        if isinstance(value, str) and "\x00" in value:
            raise UnfitRow(
                gettext_noop("%(field)s holds a character that cannot be kept. Type it again."),
                field=field.name,
                figures={"field": field.name},
            )
    try:
        row.full_clean()
    except ValidationError as error:
        name, messages = next(iter(error.message_dict.items()))
        raise UnfitRow(
            gettext_noop("%(field)s: %(message)s"),
            field=None if name == NON_FIELD_ERRORS else name,
            figures={
                "field": row._meta.verbose_name if name == NON_FIELD_ERRORS else name,
                "message": str(messages[0]),
            },
        ) from error
