"""Long lists, a page at a time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from apps.api.fields import Whole
from apps.api.serializers import Strict
from apps.kernel.errors import Refused

PAGE_SIZE = 100
LARGEST_PAGE = 500


class NoSuchPage(Refused):
    """The page lies past the last one."""

    code = "no_such_page"
    status = 404


class Paging(Strict):
    """Base of a list's query."""

    page = Whole(min_value=1, max_value=1_000_000, default=1)
    page_size = Whole(min_value=1, max_value=LARGEST_PAGE, default=PAGE_SIZE)


def page_of(
    rows: QuerySet[Any] | Sequence[Any], query: dict[str, Any]
) -> tuple[Any, dict[str, int]]:
    """The rows of the asked page, and the figures that go with them."""
    pages = Paginator(rows, query["page_size"])
    if query["page"] > max(pages.num_pages, 1):
        raise NoSuchPage(
            _("There are %(pages)s pages. Ask for one of them.") % {"pages": pages.num_pages},
            figures={"pages": pages.num_pages, "asked": query["page"]},
        )
    shown = pages.get_page(query["page"])
    figures = {"count": pages.count, "page": query["page"], "pages": pages.num_pages}
    return list(shown.object_list), figures
