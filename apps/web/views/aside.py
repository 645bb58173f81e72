"""Taking waste that is too old, or unfit, out of a home's bin."""

from __future__ import annotations

from datetime import UTC, datetime

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from apps.digesters.models import Digester
from apps.feedstock.models import Material
from apps.kernel.errors import Refused
from apps.ledger.operations.open_account import shared_account
from apps.ledger.operations.set_aside import set_aside
from apps.ledger.queries.balances import balances_g
from apps.people.access import roles
from apps.people.models import Role
from apps.web.forms.aside import AsideForm
from apps.web.forms.refusals import put_refusal
from apps.web.page import PageRequest, page
from apps.web.templatetags.shown import kg
from apps.web.views.day.visit import client_key

COORDINATOR = roles(Role.COORDINATOR)


@page(GET=COORDINATOR, POST=COORDINATOR)
def aside(request: PageRequest, group: str, code: str) -> HttpResponse:
    """All that lies in the bin is filled in; what is still good is set to 0."""
    here = request.admission
    digester = get_object_or_404(
        Digester.objects.of(here.group).select_related("bin_account"), code=code
    )
    in_bin_g = balances_g(here.group, [digester.bin_account_id]).get(digester.bin_account_id, {})
    materials = Material.objects.of(here.group).filter(code__in=in_bin_g).order_by("code")
    form = AsideForm(
        request.POST if request.method == "POST" else None,
        in_bin=[(each, in_bin_g[each.code]) for each in materials if in_bin_g[each.code]],
    )
    if request.method == "POST" and form.is_valid():
        now = datetime.now(UTC)
        amounts_g = form.amounts_g()
        try:
            set_aside(
                here.group,
                from_account=digester.bin_account,
                to_account=shared_account(here.group, form.goal()),
                amounts_g=amounts_g,
                happened_at=now,
                now=now,
                client_key=client_key(request),
                recorded_by_uuid=here.member.uuid,
            )
        except Refused as error:
            put_refusal(form, error)
        else:
            told = _("%(amount)s set aside.") % {"amount": kg(sum(amounts_g.values()))}
            messages.success(request, told)
            return redirect("today", group=group)
    context = {"digester": digester, "form": form}
    return render(request, "web/today/aside.html", context, status=422 if form.errors else 200)
