"""An extract of OpenStreetMap to be brought in."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from apps.places.core.streets.blocks import MOST_BYTES


class StreetsForm(forms.Form):
    """One .osm.pbf file."""

    file = forms.FileField(
        label=_("The extract"),
        allow_empty_file=True,
        help_text=_("A file ending in .osm.pbf, at most 20 MB, cut around the neighbourhood."),
        widget=forms.FileInput(attrs={"accept": ".pbf"}),
    )

    def clean_file(self) -> Any:
        """Bounded before it is read; what is inside the operation looks at."""
        file: UploadedFile = self.cleaned_data["file"]
        if (file.size or 0) > MOST_BYTES:
            raise ValidationError(
                gettext("The file has %(size)s MB; at most %(most)s MB. Cut a smaller extract.")
                % {"size": -(-(file.size or 0) // 1_000_000), "most": MOST_BYTES // 1_000_000}
            )
        return file
