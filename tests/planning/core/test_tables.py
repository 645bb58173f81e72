"""The description of the exported tables, where people read it."""

from pathlib import Path

from apps.planning.core import tables

README = Path(__file__).parents[3] / "README.md"


def test_the_readme_describes_every_table_as_it_is_written() -> None:
    described = [line for line in (tables.__doc__ or "").splitlines() if line.startswith("| ")]
    assert len(described) == 20  # the heading and nineteen tables
    read = README.read_text(encoding="utf-8").splitlines()
    assert [line for line in described if line not in read] == []
