"""Every word is translated, with every figure in its place."""

from __future__ import annotations

import re
from pathlib import Path

import polib

CATALOGUE = Path("coordinator/locale/es/LC_MESSAGES/django.po")
PLACES = re.compile(r"%\(\w+\)s|%%|\{\w+\}")


def entries() -> list[polib.POEntry]:
    return [entry for entry in polib.pofile(str(CATALOGUE)) if not entry.obsolete]


def test_spanish_is_complete() -> None:
    assert [entry.msgid for entry in entries() if not entry.translated()] == []


def test_figures_stay_in_their_sentences() -> None:
    for entry in entries():
        for words in [entry.msgstr, *entry.msgstr_plural.values()]:
            if words:
                assert set(PLACES.findall(words)) == set(PLACES.findall(entry.msgid)), entry.msgid


def test_the_compiled_catalogue_is_of_this_text() -> None:
    compiled = {
        entry.msgid: entry.msgstr for entry in polib.mofile(str(CATALOGUE.with_suffix(".mo")))
    }
    for entry in entries():
        if not entry.msgid_plural:
            assert compiled.get(entry.msgid) == entry.msgstr, entry.msgid


def test_spanish_speaks_in_one_way() -> None:
    """Everybody is addressed as tú, quotes are «»; a bin is never called like a pail."""
    for entry in entries():
        for words in [entry.msgstr, *entry.msgstr_plural.values()]:
            assert not re.search(r"\busted(es)?\b|[“”]", words, re.IGNORECASE), words
            if re.search(r"\bbins?\b", entry.msgid):
                assert "cubo" not in words.lower(), words
