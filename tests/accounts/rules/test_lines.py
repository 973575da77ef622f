"""Typed text before it is a column."""

from __future__ import annotations

import pytest

from accounts.refusals import Refused
from accounts.rules.lines import email_line, line, paragraph
from accounts.rules.search import phone_digits, words_of


def test_spaces_and_control_marks() -> None:
    assert line("  Dana \x00 Whit\tcomb ", field="n", label="Name", most=20) == "Dana Whit comb"
    assert paragraph("a\r\nb\x00 ", field="n", label="N", most=9) == "a\nb"


def test_missing_and_long() -> None:
    for typed, code in (("  ", "missing"), ("x" * 6, "long")):
        with pytest.raises(Refused) as caught:
            line(typed, field="name", label="Name", most=5)
        assert (caught.value.code, caught.value.facts["field"]) == (code, "name")


def test_email() -> None:
    assert email_line(" Dana@Firm.Example ", needed=True) == "dana@firm.example"
    assert email_line("", needed=False) == ""
    for typed in ("dana", "dana@firm", "a b@firm.example", "a@b@c.example"):
        with pytest.raises(Refused):
            email_line(typed, needed=True)


def test_search_words_and_digits() -> None:
    assert words_of("a") == [] and words_of("14 Heron, Lane") == ["14", "Heron", "Lane"]
    assert len(words_of("a b c d e f g h")) == 6
    assert phone_digits("(614) 555-0100") == "6145550100"
    assert phone_digits("14 Heron Lane 1234") == "" and phone_digits("614") == ""
