"""The one error that is shown to people."""

from __future__ import annotations


class Refused(Exception):
    """Something a person asked for that is not done, with the reason in a sentence.

    `code` is a short word for tests and logs; `sentence` says what is wrong and what to do;
    `facts` carry what a page needs to help (a field's name, the next free place).
    """

    def __init__(self, code: str, sentence: str, **facts: object) -> None:
        super().__init__(sentence)
        self.code = code
        self.sentence = sentence
        self.facts = facts
