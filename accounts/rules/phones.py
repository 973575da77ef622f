"""Telephone numbers: kept as + and digits, shown as people read them."""

from __future__ import annotations

import re
from urllib.parse import quote

import phonenumbers

from accounts.refusals import Refused

REGION = "US"
MOST_TYPED = 40


def to_e164(typed: str, field: str = "phone") -> str:
    """A number as typed in the US, or with + and a country code, as + and digits (ITU E.164).

    Nothing typed stays nothing. Refused, naming `field`: letters, an extension, too few or too
    many digits.
    """
    text = typed.strip()
    if not text:
        return ""
    try:
        number = phonenumbers.parse(text[:MOST_TYPED], REGION)
    except phonenumbers.NumberParseException as failure:
        raise _no_number(text, field) from failure
    if number.extension or re.search("[A-Za-z]", text):
        raise _no_number(text, field)
    # seven digits are possible inside one area code only, which nobody knows later
    whole = phonenumbers.ValidationResult.IS_POSSIBLE
    if phonenumbers.is_possible_number_with_reason(number) != whole:
        raise _no_number(text, field)
    return str(phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164))


def _no_number(text: str, field: str) -> Refused:
    return Refused(
        "phone",
        f'"{text[:20]}" is not a telephone number. Write ten digits like 614 555 0100, or + and '
        "the country code, without letters or an extension.",
        field=field,
    )


def readable(stored: str) -> str:
    """A stored number for people: "(614) 555-0100"; anything else as it stands."""
    try:
        number = phonenumbers.parse(stored)
    except phonenumbers.NumberParseException:
        return stored
    style = phonenumbers.PhoneNumberFormat
    home = number.country_code == phonenumbers.country_code_for_region(REGION)
    return str(phonenumbers.format_number(number, style.NATIONAL if home else style.INTERNATIONAL))


def text_link(stored: str, words: str) -> str:
    """An address that opens a text message with the words already typed (RFC 5724, 2.2)."""
    return f"sms:{stored}?body={quote(words, safe='')}"
