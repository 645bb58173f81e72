"""Bring in a group's streets from the command line."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.translation import gettext

from apps.groups.models import Group
from apps.kernel.errors import Refused
from apps.places.models import ExtractState
from apps.places.operations.import_streets import import_streets
from apps.places.operations.read_streets import read_extract_row
from apps.places.queries.street_maps import ATTRIBUTION


class Command(BaseCommand):
    """Takes the file and reads it at once."""

    help = "Bring in the streets of a group from an OpenStreetMap extract (.osm.pbf)."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which group and which file."""
        parser.add_argument("--group", required=True, help="code of the group")
        parser.add_argument("file", type=Path, help="an .osm.pbf file around the neighbourhood")

    def handle(self, *args: Any, **options: Any) -> None:
        """Say what is used now, or why the file is not."""
        group = Group.objects.filter(code=options["group"]).first()
        if group is None:
            raise CommandError(f"There is no group {options['group']}.")
        file: Path = options["file"]
        if not file.is_file():
            raise CommandError(f"There is no file {file}.")
        now = timezone.now()
        try:
            sent = import_streets(group, file.read_bytes(), file_name=file.name, now=now)
        except Refused as error:
            raise CommandError(error.sentence(gettext)) from error
        extract = read_extract_row(sent, now=now)
        if extract.state == ExtractState.REFUSED:
            raise CommandError(gettext(extract.refusal) % extract.refusal_figures)
        self.stdout.write(f"{extract.walk_m / 1000:.1f} km of streets for walking. {ATTRIBUTION}.")
