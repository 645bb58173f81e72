"""Sentences keep their figures apart from their words."""

import pytest

from apps.kernel.sentences import Sentence, gettext_noop


def test_a_sentence_says_its_figures() -> None:
    sentence = Sentence(gettext_noop("It takes %(kg)s kg, %(share)s %% of its maximum."))
    said = Sentence(sentence.template, {"kg": "2.5", "share": 25})
    assert str(said) == "It takes 2.5 kg, 25 % of its maximum."


def test_a_sentence_does_not_change() -> None:
    values = {"kg": 1}
    said = Sentence("%(kg)s", values)
    values["kg"] = 2
    assert str(said) == "1"
    with pytest.raises(TypeError):
        said.values["kg"] = 3  # type: ignore[index]


def test_equal_sentences_hash_alike() -> None:
    one, other = Sentence("%(a)s", {"a": 1}), Sentence("%(a)s", {"a": 1})
    assert one == other
    assert len({one, other}) == 1
