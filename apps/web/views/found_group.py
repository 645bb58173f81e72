"""Founding a group."""

from __future__ import annotations

from datetime import UTC, datetime

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from apps.feedstock.operations.found_group import found_group as make_group
from apps.kernel.errors import Refused
from apps.people.access import SIGNED_IN
from apps.web.forms.people import NewGroupForm
from apps.web.forms.refusals import put_invalid, put_refusal
from apps.web.page import PageRequest, page


@page(GET=SIGNED_IN, POST=SIGNED_IN)
def found_group(request: PageRequest) -> HttpResponse:
    """Ask for name and time zone; then lead to the sheets to fill in."""
    form = NewGroupForm(
        request.POST if request.method == "POST" else None, initial={"language": get_language()}
    )
    user = request.admission.user
    if request.method == "POST" and user is not None and form.is_valid():
        try:
            member = make_group(user, **form.cleaned_data, now=datetime.now(UTC))
        except Refused as error:
            put_refusal(form, error)
        except ValidationError as error:
            put_invalid(form, error)
        else:
            messages.success(request, _("The group is there. Next, bring in your lists."))
            return redirect("sheets", group=member.group.code)
    status = 422 if form.errors else 200
    return render(request, "web/found_group.html", {"form": form}, status=status)
