"""Sources that are sentences are said in the reader's language."""

import re

import pytest
from django.utils.translation import gettext, override

from apps.digesters.core.limit_sources import LIMIT_SOURCES
from apps.digesters.core.recovery import RECOVERY
from apps.digesters.core.rules import read_rules
from apps.digesters.core.start_up import STEPS

ENGLISH = re.compile(
    r"\b(chosen|common|practice|no source|read|memory|quoted|the|of|from|add|or)\b"
)
GUIDES = {text.source for text in (*STEPS.values(), *RECOVERY.values())}


def test_every_limit_has_its_source_marked():
    assert {rule.source for rule in read_rules().rules.values()} == LIMIT_SOURCES


@pytest.mark.parametrize("source", sorted(LIMIT_SOURCES | GUIDES))
def test_no_english_is_left_in_spanish(source):
    with override("es"):
        said = gettext(source)
    titles = said.replace("biogas safety page", "")
    assert not ENGLISH.search(titles.lower()), said
