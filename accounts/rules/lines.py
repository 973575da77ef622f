"""One line of typed text, before it is a column."""

from __future__ import annotations

import re
from collections.abc import Container

from accounts.refusals import Refused

# one @, something before it, a dotted name after it; the mail server has the last word (RFC 5321)
EMAIL = re.compile(r"[^@\s,;<>\"]+@[^@\s,;<>\"]+\.[^@\s,;<>\".]{2,}")
LONGEST_EMAIL = 254
# what a person never types and a database may refuse (NUL in PostgreSQL)
CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")


def line(typed: str, *, field: str, label: str, most: int, needed: bool = True) -> str:
    """The text with single spaces; refused, naming `field`, when missing or over `most` letters."""
    text = " ".join(CONTROL.sub(" ", typed).split())
    return _checked(text, field, label, most, needed)


def paragraph(typed: str, *, field: str, label: str, most: int) -> str:
    """The text with its line breaks, trimmed; refused, naming `field`, over `most` letters."""
    text = CONTROL.sub("", typed.replace("\r\n", "\n")).strip()
    return _checked(text, field, label, most, needed=False)


def _checked(text: str, field: str, label: str, most: int, needed: bool) -> str:
    if needed and not text:
        raise Refused("missing", f"{label} is missing. Type it.", field=field)
    if len(text) > most:
        raise Refused("long", f"{label} is longer than {most} letters. Shorten it.", field=field)
    return text


def email_line(typed: str, *, needed: bool, field: str = "email") -> str:
    """An e-mail address in small letters; refused, naming `field`, when it is none."""
    text = line(typed, field=field, label="E-mail", most=LONGEST_EMAIL, needed=needed).lower()
    if text and not EMAIL.fullmatch(text):
        raise Refused(
            "email",
            f'"{text[:40]}" is not an e-mail address. Write it like name@firm.example.',
            field=field,
        )
    return text


def one_of(typed: str, known: Container[str], *, field: str, label: str) -> str:
    """A value of a closed list; refused, naming `field`, when it is not in it."""
    if typed not in known:
        raise Refused("choice", f"{label}: choose one from the list.", field=field)
    return typed
