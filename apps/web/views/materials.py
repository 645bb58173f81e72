"""Materials: what they are made of, each figure with its source and evidence."""

from __future__ import annotations

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Prefetch
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from apps.feedstock.core.risk_groups import RISK_GROUPS
from apps.feedstock.models import Figure, Material
from apps.feedstock.operations.save_material import save_material
from apps.kernel.errors import Refused
from apps.people.access import MEMBER, roles
from apps.people.models import Role
from apps.web.forms.materials import MaterialForm
from apps.web.forms.refusals import put_refusal
from apps.web.names import QUANTITY_NAMES, UNIT_NAMES
from apps.web.page import PageRequest, page

ROWS_A_PAGE = 50
ADMIN = roles(Role.GROUP_ADMIN)


@page(GET=MEMBER)
def materials(request: PageRequest, group: str) -> HttpResponse:
    """All of them, with the figures that decide how much may be fed."""
    found = (
        Material.objects.of(request.admission.group)
        .filter(is_active=True)
        .prefetch_related(Prefetch("figures", Figure.unscoped.all()))
        .order_by("name", "code")
    )
    shown = Paginator(found, ROWS_A_PAGE).get_page(request.GET.get("page"))
    rows = [
        {
            "material": material,
            "by": {figure.quantity: figure for figure in material.figures.all()},
        }
        for material in shown
    ]
    return render(
        request,
        "web/materials.html",
        {
            "page": shown,
            "rows": rows,
            "may_add": Role.GROUP_ADMIN in request.admission.roles,
        },
    )


@page(GET=MEMBER)
def material(request: PageRequest, group: str, code: str) -> HttpResponse:
    """One material with every figure, its range, source and evidence."""
    found = get_object_or_404(Material.objects.of(request.admission.group), code=code)
    figures = [
        {
            "figure": figure,
            "name": QUANTITY_NAMES.get(figure.quantity, figure.quantity),
            "unit": UNIT_NAMES.get(figure.unit, figure.unit),
        }
        for figure in found.figures.all()
    ]
    shares = [RISK_GROUPS[name] for name in found.share_groups if name in RISK_GROUPS]
    return render(
        request,
        "web/material.html",
        {"material": found, "figures": figures, "shares": shares},
    )


@page(GET=ADMIN, POST=ADMIN)
def add_material(request: PageRequest, group: str) -> HttpResponse:
    """A material the group measured itself."""
    form = MaterialForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            made = save_material(request.admission.group, **form.arguments())
        except Refused as error:
            put_refusal(form, error)
        else:
            messages.success(request, _("%(name)s is among the materials.") % {"name": made.name})
            return redirect("material", group=group, code=made.code)
    status = 422 if form.errors else 200
    return render(request, "web/add_material.html", {"form": form}, status=status)
