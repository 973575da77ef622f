"""One cell of the firm's spreadsheet: what it may hold, and the sentence when it does not."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from enum import StrEnum

import phonenumbers

from accounts.rules.postal import is_state, is_zip
from sites.rules.places import Exposure, Place, Surface


class CellError(Exception):
    """A cell that cannot be taken; the text says why and what to write instead."""


Reader = Callable[[str, date], object]

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
NUMBER = re.compile(r"[+-]?[0-9]{1,9}(\.[0-9]{1,9})?")
EMAIL = re.compile(r"[^@\s,;<>\"]+@[^@\s,;<>\"]+\.[^@\s,;<>\".]{2,}")
ISO_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
# Control characters, line separators, marks of no width or of writing direction (Unicode 15,
# categories Cc, Zl, Zp and of Cf those that hide or reorder text; joiners of emoji stay).
CONTROL = re.compile(
    r"[\x00-\x1f\x7f-\x9f\xad\u200b\u200e\u200f\u2028-\u202e\u2060-\u2069\ufeff\ufff9-\ufffb]"
)
TEN_DIGITS = re.compile(r"[2-9][0-9]{2}[2-9][0-9]{6}")
OLDEST = date(1990, 1, 1)  # house rule: an older treatment is a typing error
MOST_FEET = Decimal(100_000)  # house rule: longer is a typing error
MOST_DAYS = 3650  # house rule: ten years of residual is a typing error


class CustomerKind(StrEnum):
    """Who the customer is, as the spreadsheet says it."""

    RESIDENTIAL = "residential"
    COMMERCIAL = "commercial"


def plain(cell: str, today: date) -> str:
    """Text without formulas and control characters."""
    if cell.startswith(FORMULA_STARTS):
        raise CellError(
            f"begins with {_shown(cell[0])}, which a spreadsheet runs as a formula. "
            "Write it without that character."
        )
    return cell


def unbroken(cell: str) -> str:
    """Refuse line breaks, tabs and other characters that cannot be seen."""
    found = CONTROL.search(cell)
    if found:
        raise CellError(
            f"holds {_shown(found[0])}, which cannot be seen. "
            "Write the text on one line without it."
        )
    return cell


def _shown(mark: str) -> str:
    names = {"\t": "a tab", "\r": "a line break", "\n": "a line break"}
    return names.get(mark, f'"{mark}"' if mark.isprintable() else f"character {ord(mark):#04x}")


def one_of(words: type[StrEnum]) -> Reader:
    """A reader of one word of a list."""
    known = {word.value: word for word in words}

    def read(cell: str, today: date) -> StrEnum:
        if cell not in known:
            raise CellError(f'"{_cut(cell)}" is not known. Write one of: {", ".join(known)}.')
        return known[cell]

    return read


def _cut(cell: str) -> str:
    return cell if len(cell) <= 40 else cell[:40] + "…"


def number(cell: str) -> Decimal:
    """A decimal exactly as written, without units, commas or exponents."""
    if not NUMBER.fullmatch(cell):
        raise CellError(
            f'"{_cut(cell)}" is not a number. Write digits with a point, such as 120 or 7.5.'
        )
    return Decimal(cell)


def run_feet(cell: str, today: date) -> Decimal:
    """The wall run in feet, above zero."""
    feet = feet_of(cell, today)
    if feet == 0:
        raise CellError("is 0. Write the length of the wall that is treated, in feet.")
    return feet


def feet_of(cell: str, today: date) -> Decimal:
    """A length in feet, zero or more."""
    feet = number(cell)
    if feet < 0:
        raise CellError(f"is negative ({cell}). Write the length in feet, without a sign.")
    if feet > MOST_FEET:
        raise CellError(f"is {cell} ft, more than {MOST_FEET} ft. Write the length in feet.")
    return feet


def latitude(cell: str, today: date) -> Decimal:
    """Decimal degrees, north positive."""
    return _degrees(cell, 90)


def longitude(cell: str, today: date) -> Decimal:
    """Decimal degrees, east positive."""
    return _degrees(cell, 180)


def _degrees(cell: str, most: int) -> Decimal:
    degrees = number(cell)
    if abs(degrees) > most:
        raise CellError(f"is {cell}, outside -{most} to {most}. Write decimal degrees.")
    return degrees


def days(cell: str, today: date) -> int:
    """Whole days of residual, at least one."""
    if not re.fullmatch(r"[0-9]{1,6}", cell):
        raise CellError(f'"{_cut(cell)}" is not a whole number of days. Write digits, such as 90.')
    if not 1 <= int(cell) <= MOST_DAYS:
        raise CellError(
            f"is {int(cell)} days. Write 1 to {MOST_DAYS}, or leave it empty when none is claimed."
        )
    return int(cell)


def past_day(cell: str, today: date) -> date:
    """A day of the calendar as YYYY-MM-DD, not after today."""
    if not ISO_DAY.fullmatch(cell):
        raise CellError(f'"{_cut(cell)}" is not a date. Write year-month-day, such as 2026-05-12.')
    try:
        day = date.fromisoformat(cell)
    except ValueError:
        raise CellError(f"{cell} is not a day of the calendar. Correct the day.") from None
    if day > today:
        raise CellError(f"{cell} is after today, {today}. Correct the day.")
    if day < OLDEST:
        raise CellError(f"{cell} is before {OLDEST}. Correct the year.")
    return day


def zip_code(cell: str, today: date) -> str:
    """Five digits, or five and four."""
    if not is_zip(cell):
        hint = " A spreadsheet drops a leading zero." if re.fullmatch(r"[0-9]{3,4}", cell) else ""
        raise CellError(f'"{_cut(cell)}" is not a ZIP code. Write 5 digits, or 5-4.{hint}')
    return cell


def state(cell: str, today: date) -> str:
    """Two capital letters of a state or territory."""
    if not is_state(cell.upper()):
        raise CellError(f'"{_cut(cell)}" is not a state. Write its two letters, such as PA.')
    return cell.upper()


def email(cell: str, today: date) -> str:
    """The shape of one e-mail address."""
    if not EMAIL.fullmatch(plain(cell, today)):
        raise CellError(f'"{_cut(cell)}" is not an e-mail address. Write one, or leave it empty.')
    return cell


def phone(cell: str, today: date) -> str:
    """A US or international number, kept as E.164."""
    try:
        # Ten digits need no search: a quarter of the time of a big sheet (measured, 50,000 rows).
        parsed = _ten_digits(cell) or phonenumbers.parse(cell, "US")
    except phonenumbers.NumberParseException:
        raise CellError(_no_phone(cell)) from None
    if not phonenumbers.is_valid_number(parsed):
        raise CellError(_no_phone(cell))
    if parsed.extension:
        raise CellError("has an extension. Write the number alone; note the extension by name.")
    return str(phonenumbers.format_number(parsed, phonenumbers.PhoneNumberFormat.E164))


def _ten_digits(cell: str) -> phonenumbers.PhoneNumber | None:
    digits = re.sub(r"[ ().-]", "", cell).removeprefix("+1")
    if not TEN_DIGITS.fullmatch(digits):
        return None
    return phonenumbers.PhoneNumber(country_code=1, national_number=int(digits))


def _no_phone(cell: str) -> str:
    return f'"{_cut(cell)}" is not a telephone number. Write 10 digits, or + and the country code.'


customer_kind = one_of(CustomerKind)
place = one_of(Place)
surface = one_of(Surface)
exposure = one_of(Exposure)
