"""The one shape of "type a record, save it, say so" that several pages share."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.forms import BaseForm
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils.translation import gettext as _

from apps.kernel.errors import Refused
from apps.web.forms.refusals import put_invalid, put_refusal
from apps.web.page import PageRequest


@dataclass(frozen=True, slots=True)
class RecordPage:
    """What stands around the fields: title, button, where to go after, cautions by key."""

    title: str
    button: str
    after: str
    cautions: tuple[str, ...] = ()
    more: Mapping[str, Any] = field(default_factory=dict)


def record_page(
    request: PageRequest, form: BaseForm, words: RecordPage, save: Callable[[], object]
) -> HttpResponse:
    """Show the form; after a valid POST call `save` once, and put its "no" beside the field."""
    if request.method == "POST" and form.is_valid():
        try:
            save()
        except Refused as error:
            put_refusal(form, error)
        except ValidationError as error:
            put_invalid(form, error)
        else:
            messages.success(request, _("Saved."))
            return HttpResponseRedirect(words.after)
    status = 422 if form.errors else 200
    context = {"form": form, "words": words, **words.more}
    return render(request, "web/record_form.html", context, status=status)
