"""Write matrix.csv anew: `python -m tests.access`."""

import os
from importlib import import_module

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coordinator.settings")
django.setup()
matrix = import_module("tests.access.matrix")
matrix.FILE.write_text(matrix.matrix_text())
print(f"{matrix.FILE.name}: {len(matrix.FILE.read_text().splitlines()) - 1} rows")
