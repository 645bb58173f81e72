"""Parts that every page shares: navigation, fields, error summary, cautions, page links."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import template
from django.conf import settings
from django.core.paginator import Page
from django.forms import BaseForm, BoundField, CheckboxInput, CheckboxSelectMultiple, RadioSelect
from django.utils.translation import get_language

from apps.digesters.core.cautions import CAUTIONS, DEFER
from apps.web.navigation import entries_for

register = template.Library()


@register.inclusion_tag("web/parts/navigation.html", takes_context=True)
def navigation(context: dict[str, Any]) -> dict[str, Any]:
    """Links for the roles that somebody holds in this group."""
    request = context.get("request")
    admission = getattr(request, "admission", None)
    return {
        "admission": admission,
        "entries": entries_for(admission, request.path) if admission else (),
    }


@register.inclusion_tag("web/parts/languages.html", takes_context=True)
def languages(context: dict[str, Any]) -> dict[str, Any]:
    """A button for each language, on a form of its own."""
    request = context.get("request")
    return {
        "csrf_token": context.get("csrf_token"),
        "languages": settings.LANGUAGES,
        "current": get_language(),
        "path": request.get_full_path() if request and request.method == "GET" else "/",
    }


@register.inclusion_tag("web/parts/field.html")
def field(bound: BoundField) -> dict[str, Any]:
    """A label, a hint, what is wrong, and the input."""
    widget = bound.field.widget
    return {
        "field": bound,
        "single": type(widget) is CheckboxInput,
        "many": isinstance(widget, CheckboxSelectMultiple | RadioSelect),
    }


@register.inclusion_tag("web/parts/fields.html")
def fields(form: BaseForm) -> dict[str, Any]:
    """Every field of a form, in order."""
    return {"form": form}


@register.inclusion_tag("web/parts/error_summary.html")
def error_summary(*forms: BaseForm) -> dict[str, Any]:
    """What is wrong, each with a link to its field."""
    found = []
    for form in forms:
        if not isinstance(form, BaseForm):
            continue
        found += [(None, message) for message in form.non_field_errors()]
        for bound in form:
            found += [(bound.id_for_label or bound.auto_id, each) for each in bound.errors]
    return {"found": found}


@register.inclusion_tag("web/parts/caution.html")
def caution(*keys: str) -> dict[str, Any]:
    """Cautions where they matter, always with the line about local codes."""
    return {"texts": [CAUTIONS[key].text for key in keys], "defer": DEFER}


@register.inclusion_tag("web/parts/caution.html")
def cautions_of(keys: Sequence[str]) -> dict[str, Any]:
    """The same from a list; a key that is known no more is left out."""
    return {"texts": [CAUTIONS[key].text for key in keys if key in CAUTIONS], "defer": DEFER}


@register.inclusion_tag("web/parts/pages.html", takes_context=True)
def pages(context: dict[str, Any], page: Page[Any]) -> dict[str, Any]:
    """Links to the page before and the next, keeping the rest of the query."""
    query = context["request"].GET.copy()
    query.pop("page", None)
    return {"page": page, "query": query.urlencode()}
