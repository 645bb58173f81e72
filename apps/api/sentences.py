"""Sentences that carry their figures, said in the reader's language."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from apps.kernel.sentences import Sentence


@extend_schema_field(OpenApiTypes.STR)
class SentenceField(serializers.Field):
    """A `Sentence` as text."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"read_only": True, **kwargs})

    def to_representation(self, value: Sentence) -> str:
        """Translated, then filled in."""
        return _(value.template) % dict(value.values)
