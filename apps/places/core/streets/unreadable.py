"""Why an extract was refused."""

from __future__ import annotations

from apps.kernel.sentences import Sentence


class UnreadableExtract(ValueError):
    """What is wrong with the file and what to do, as a `Sentence`."""

    def __init__(self, sentence: Sentence) -> None:
        super().__init__(str(sentence))
        self.sentence = sentence
