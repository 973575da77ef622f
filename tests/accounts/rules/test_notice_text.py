"""Texts of notices: a closed list of placeholders, filled in once, plain text."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from accounts.refusals import Refused
from accounts.rules.notice_text import (
    DEFAULTS,
    EXAMPLES,
    MOST_BODY,
    MOST_SUBJECT,
    PLACEHOLDERS,
    Text,
    checked,
    filled,
)
from accounts.rules.notices import Kind

BODY = "Hello {contact}."


@pytest.mark.parametrize(
    ("subject", "body", "field", "code"),
    [
        ("", BODY, "subject", "missing"),
        ("  ", BODY, "subject", "missing"),
        ("Copy", " \n ", "body", "missing"),
        ("x" * (MOST_SUBJECT + 1), BODY, "subject", "long"),
        ("Copy", "x" * (MOST_BODY + 1), "body", "long"),
        # a line break in a subject would start a header of its own (RFC 5322, 2.2)
        ("Copy\r\nBcc: other@customer.example", BODY, "subject", "line"),
        ("Copy\nBcc: other@customer.example", BODY, "subject", "line"),
        ("Copy {password}", BODY, "subject", "placeholder"),
        ("Copy", "{secret_key}", "body", "placeholder"),
        ("Copy", "{ contact }", "body", "placeholder"),
        ("Copy", "{contact.pk}", "body", "placeholder"),
        ("Copy", "{contact!r}", "body", "placeholder"),
        ("Copy", "{}", "body", "placeholder"),
        ("Copy", "{{contact}}", "body", "brace"),
        ("Copy", "{% include 'x' %}", "body", "placeholder"),
        ("Copy", "a { b", "body", "brace"),
        ("Copy", "<b>Hello</b>", "body", "html"),
        ("Copy", "<!-- note -->", "body", "html"),
        ("<script>", BODY, "subject", "html"),
        ("Copy", "&lt;b&gt;", "body", "html"),
    ],
)
def test_what_a_template_may_not_say(subject: str, body: str, field: str, code: str) -> None:
    with pytest.raises(Refused) as refused:
        checked(Kind.COPY, subject, body)
    assert (refused.value.code, refused.value.facts["field"]) == (code, field)


@pytest.mark.parametrize("kind", Kind)
def test_the_texts_that_come_with_the_program_hold(kind: Kind) -> None:
    text = DEFAULTS[kind]
    assert checked(kind, text.subject, text.body) == text
    whole = filled(text, EXAMPLES)
    assert "{" not in whole.subject + whole.body
    assert set(PLACEHOLDERS[kind]) <= set(EXAMPLES)
    # the published numbers: 911, Poison Help
    assert "911" in whole.body and "1-800-222-1222" in whole.body


def test_a_sign_that_is_no_html_is_kept() -> None:
    text = checked(Kind.COPY, "Wind < 10 mph & dry", "If x < 3, call.\n\n{firm}")
    assert text == Text("Wind < 10 mph & dry", "If x < 3, call.\n\n{firm}")


def test_what_cannot_be_seen_is_taken_out() -> None:
    assert checked(Kind.COPY, "Copy\u202e", "a\x00b\u2028").body == "ab"


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ("Ann\r\nBcc: x@y.example", "Ann Bcc: x@y.example"),
        ("{firm}", "{firm}"),
        ("", "–"),
        ("Ann\u2028Example", "Ann Example"),
        ("<b>Ann</b>", "<b>Ann</b>"),  # plain text: pages escape it where they show it
    ],
)
def test_a_value_stays_one_line_and_is_not_looked_at_again(value: str, said: str) -> None:
    text = filled(Text("For {contact}", "{contact}!"), {"contact": value, "firm": "Firm"})
    assert text == Text(f"For {said}", f"{said}!")


@settings(max_examples=50)
@given(st.dictionaries(st.sampled_from(sorted(EXAMPLES)), st.text(max_size=40)))
def test_no_value_breaks_the_subject(values: dict[str, str]) -> None:
    for kind in Kind:
        subject = filled(DEFAULTS[kind], values).subject
        assert len(subject.splitlines()) == 1
        assert not any(ord(sign) < 32 for sign in subject)
