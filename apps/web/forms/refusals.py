"""An operation's "no", put beside the field it is about."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.forms import BaseForm

from apps.groups.operations.save_row import UnfitRow
from apps.kernel.errors import Refused
from apps.web.templatetags.shown import say


def put_refusal(form: BaseForm, error: Refused, *, under: str | None = None) -> None:
    """Add the refusal to its field, else to the one named `under`, else to the whole form."""
    field = next((name for name in (error.field, under) if name in form.fields), None)
    if isinstance(error, UnfitRow) and field == error.field:
        # The field's label stands above it already.
        form.add_error(field, str(error.figures.get("message", say(error))))
    else:
        form.add_error(field, say(error))


def put_invalid(form: BaseForm, error: ValidationError) -> None:
    """Add what a table's own checks found; what is not a field goes to the whole form."""
    if not hasattr(error, "error_dict"):
        form.add_error(None, error)
        return
    for name, messages in error.message_dict.items():
        form.add_error(name if name in form.fields else None, messages)
