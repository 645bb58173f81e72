"""A group's settings."""

from __future__ import annotations

from datetime import UTC, datetime

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from apps.groups.operations.change_group import change_group
from apps.kernel.errors import Refused
from apps.people.access import roles
from apps.people.models import Role
from apps.web.forms.refusals import put_refusal
from apps.web.forms.settings import SettingsForm
from apps.web.page import PageRequest, page

ADMIN = roles(Role.GROUP_ADMIN)


@page(GET=ADMIN, POST=ADMIN)
def settings(request: PageRequest, group: str) -> HttpResponse:
    """Show and change them."""
    here = request.admission
    form = SettingsForm(
        request.POST if request.method == "POST" else None, initial=SettingsForm.start(here.group)
    )
    if request.method == "POST" and form.is_valid():
        try:
            change_group(
                here.group, form.changes(), now=datetime.now(UTC), actor_uuid=here.member.uuid
            )
        except Refused as error:
            put_refusal(form, error)
        else:
            messages.success(request, _("Saved. The next plan goes by it."))
            return redirect("settings", group=group)
    status = 422 if form.errors else 200
    return render(request, "web/settings.html", {"form": form}, status=status)
