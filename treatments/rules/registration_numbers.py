"""Registration numbers as printed on labels, brought to one spelling.

Forms: EPA Label Review Manual, chapter 14 (read); widths of the groups: California Department of
Pesticide Regulation, "What's in a registration number" (read). The two letters of the California
revision, the special local need, the experimental and the establishment form: from memory,
unverified.
"""

from __future__ import annotations

import re

from accounts.refusals import Refused
from treatments.rules.products import RegistrationKind

LEAD = re.compile(r"(?i)^EPA\s+(SLN\s+|EST\s+)?(REG(ISTRATION|\.)?\s*)?(NO|NUMBER)?\.?[\s:]*")
SECTION3 = re.compile(r"[1-9]\d{0,6}-[1-9]\d{0,4}(-[1-9]\d{0,6})?", re.ASCII)
DISTRIBUTOR = re.compile(r"[1-9]\d{0,6}-[1-9]\d{0,4}-[1-9]\d{0,6}", re.ASCII)
CALIFORNIA = re.compile(r"[1-9]\d{0,6}-[1-9]\d{0,4}-[A-Z]{2}(-[1-9]\d{0,6})?", re.ASCII)
FILE_SYMBOL = re.compile(r"[1-9]\d{0,6}-[REGULATION]+", re.ASCII)
SLN = re.compile(r"[A-Z]{2}-\d{6}", re.ASCII)
EUP = re.compile(r"[1-9]\d{0,6}-EUP-\d+", re.ASCII)
ESTABLISHMENT = re.compile(r"[1-9]\d{0,6}-[A-Z]{2,3}-\d{1,3}", re.ASCII)
# R=1 E=2 G=3 U=4 L=5 A=6 T=7 I=8 O=9 N=0 (EPA Label Review Manual, ch. 14)
FILE_DIGITS = str.maketrans("REGULATION", "1234567890")

FORMS: dict[RegistrationKind, tuple[re.Pattern[str], ...]] = {
    RegistrationKind.SECTION3: (SECTION3, CALIFORNIA),
    RegistrationKind.DISTRIBUTOR: (DISTRIBUTOR,),
    RegistrationKind.STATE_ONLY: (SECTION3, CALIFORNIA),
    RegistrationKind.SLN_24C: (SLN,),
    RegistrationKind.SECTION18: (SECTION3, SLN),
    RegistrationKind.EUP: (EUP,),
}
WITHOUT_NUMBER = frozenset(
    {
        RegistrationKind.EXEMPT_25B,
        RegistrationKind.DEVICE,
        RegistrationKind.NOT_A_PESTICIDE,
    }
)


def normalize(text: str, kind: RegistrationKind) -> str:
    """The number in one spelling; empty for kinds that have none.

    Dropped: the words before the number, spaces around dashes, leading zeros of each group.
    Refused, with the reason: a missing number, a file symbol (the product is not registered),
    an establishment number, any other form than the kind's.
    """
    number = _bare(text)
    if kind in WITHOUT_NUMBER:
        return _none_expected(number)
    if not number:
        raise _refused("The registration number is missing. Copy it from the label.")
    _refuse_other_numbers(number, kind)
    if not any(form.fullmatch(number) for form in FORMS[kind]):
        raise _refused(f"{number[:40]} is not a registration number. It looks like 99999-12.")
    return number


def _bare(text: str) -> str:
    number = LEAD.sub("", text.strip()).upper()
    number = re.sub(r"\s*[-–—]\s*", "-", number)
    groups = number.split("-")
    if len(groups) == 2 and groups[0].isalpha():
        return number  # the six digits of a special local need keep their zeros
    return "-".join(part.lstrip("0") if part.isdigit() else part for part in groups)


def _none_expected(number: str) -> str:
    if number:
        raise _refused(
            f"This kind of product has no registration number, and {number[:40]} was given. "
            "Leave it empty or choose another kind."
        )
    return ""


def _refuse_other_numbers(number: str, kind: RegistrationKind) -> None:
    if FILE_SYMBOL.fullmatch(number):
        raise _refused(
            f"{number[:40]} is the file symbol of a product that is not registered "
            f"(it would be {registered_as(number)[:40]}). Do not use it."
        )
    if ESTABLISHMENT.fullmatch(number) and kind != RegistrationKind.EUP:
        raise _refused(
            f"{number[:40]} looks like the establishment number. "
            "Copy the number printed after EPA Reg. No."
        )


def registered_as(file_symbol: str) -> str:
    """The number a file symbol stands for: 99999-EGN is 99999-230."""
    company, _, letters = file_symbol.partition("-")
    return f"{company}-{letters.translate(FILE_DIGITS)}"


def distributor(number: str) -> str:
    """The company that sells under a distributor number; empty when there is none."""
    groups = number.split("-")
    return groups[2] if len(groups) == 3 and groups[2].isdigit() else ""


def _refused(sentence: str) -> Refused:
    return Refused("registration_number", sentence, field="registration_number")
