"""Bodies and answers: what is not named is refused, and what is named has one meaning."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _
from rest_framework import serializers

from apps.people.access import Admission


class Strict(serializers.Serializer[Any]):
    """Base of every body and every query: an unknown name is a slip, not something to skip."""

    def to_internal_value(self, data: Any) -> Any:
        """Refuse names that the schema does not have."""
        if isinstance(data, Mapping):
            unknown = sorted(set(map(str, data)) - set(self.fields))
            if unknown:
                known = ", ".join(name for name in self.fields if name not in PAGING)
                raise serializers.ValidationError(
                    {
                        name[:60]: _("This name is not known here. Known are: %(known)s.")
                        % {"known": known or _("none")}
                        for name in unknown[:20]
                    },
                    code="unknown",
                )
        return super().to_internal_value(data)


PAGING = ("page", "page_size")


def read(
    kind: type[serializers.Serializer[Any]],
    data: Any,
    admission: Admission,
    *,
    from_address: bool = False,
) -> dict[str, Any]:
    """Validate and return what was sent; raises the framework's ValidationError."""
    asked = kind(data=data, context={"admission": admission, "from_address": from_address})
    asked.is_valid(raise_exception=True)
    given: dict[str, Any] = asked.validated_data
    return given
