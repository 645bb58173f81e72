"""A file to be brought in."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

MOST_BYTES = 2_000_000
"""Two megabytes as sent; what is inside an XLSX is bounded where it is unpacked."""


class UploadForm(forms.Form):
    """A CSV or XLSX file."""

    file = forms.FileField(
        label=_("Your file"),
        help_text=_("CSV or XLSX, at most 2 MB. Start from the blank template."),
        widget=forms.FileInput(attrs={"accept": ".csv,.xlsx"}),
    )
    decimal_mark = forms.ChoiceField(
        label=_("Decimal mark in the file"),
        choices=[(".", _("a dot, like 2.5")), (",", _("a comma, like 2,5"))],
        widget=forms.RadioSelect,
        initial=".",
    )

    def clean_file(self) -> Any:
        """Bounded before it is read."""
        file: UploadedFile = self.cleaned_data["file"]
        if file.size is None or file.size > MOST_BYTES:
            raise ValidationError(
                gettext("The file has %(size)s kB; at most %(most)s kB. Split it by rows.")
                % {"size": (file.size or 0) // 1000, "most": MOST_BYTES // 1000}
            )
        return file
