"""Files as bodies: sent as they are, with their own content type."""

from __future__ import annotations

from collections.abc import Mapping
from typing import IO, Any

from django.utils.translation import gettext as _
from rest_framework.parsers import BaseParser

from apps.api.strict_json import BodyTooLarge

MAX_FILE_BYTES = 2_000_000
"""As large as an import may be when packed; what is inside is bounded where it is unpacked."""

CSV = "text/csv"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


class FileParser(BaseParser):
    """One kind of file, bounded."""

    most_bytes = MAX_FILE_BYTES

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> bytes:
        """The bytes; what they are is found out by whoever reads them."""
        data = stream.read(self.most_bytes + 1)
        if len(data) > self.most_bytes:
            raise BodyTooLarge(
                _("The file has more than %(bytes)s bytes. Send it in parts.")
                % {"bytes": self.most_bytes},
                figures={"most_bytes": self.most_bytes},
            )
        return data


class CSVParser(FileParser):
    """RFC 4180."""

    media_type = CSV


class XLSXParser(FileParser):
    """Office Open XML."""

    media_type = XLSX


FILE_PARSERS = (CSVParser, XLSXParser)
