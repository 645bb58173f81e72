"""What could not be read, and why."""

from __future__ import annotations

from apps.kernel.sentences import Sentence


class Unreadable(ValueError):
    """What is wrong and what to do, as a `Sentence`."""

    def __init__(self, sentence: Sentence) -> None:
        super().__init__(str(sentence))
        self.sentence = sentence
