"""Registration numbers: every rule with its source, every case with an invented company 99999.

Groups and file symbols: EPA Label Review Manual, chapter 14 (read). Widths: California Department
of Pesticide Regulation, "What's in a registration number" (read). California revision, special
local need, experimental use and establishment numbers: from memory, unverified.
"""

from __future__ import annotations

import pytest

from accounts.refusals import Refused
from treatments.rules.products import RegistrationKind
from treatments.rules.registration_numbers import distributor, normalize, registered_as

SECTION3 = RegistrationKind.SECTION3


@pytest.mark.parametrize(
    ("text", "kind", "number"),
    [
        ("EPA Reg. No. 99999-12", SECTION3, "99999-12"),
        ("099999-00012", SECTION3, "99999-12"),
        ("99999-12-88888", SECTION3, "99999-12-88888"),
        ("99999-12-88888", RegistrationKind.DISTRIBUTOR, "99999-12-88888"),
        ("99999 - 12", SECTION3, "99999-12"),
        ("EPA Registration No.: 99999-12", SECTION3, "99999-12"),
        ("epa reg no 99999-12", SECTION3, "99999-12"),
        ("99999–12", SECTION3, "99999-12"),
        ("99999-12-AA", SECTION3, "99999-12-AA"),
        ("99999-12-AA-55", SECTION3, "99999-12-AA-55"),
        ("", RegistrationKind.EXEMPT_25B, ""),
        ("", RegistrationKind.DEVICE, ""),
        ("EPA SLN No. OH-050001", RegistrationKind.SLN_24C, "OH-050001"),
        ("99999-EUP-4", RegistrationKind.EUP, "99999-EUP-4"),
    ],
)
def test_accepted(text: str, kind: RegistrationKind, number: str) -> None:
    assert normalize(text, kind) == number


@pytest.mark.parametrize(
    ("text", "kind", "says"),
    [
        ("99999-EGN", SECTION3, "file symbol .*99999-230"),
        ("99999-R", SECTION3, "file symbol .*99999-1"),
        ("99999", SECTION3, "not a registration number"),
        ("99999-12-3-4", SECTION3, "not a registration number"),
        ("99999-0", SECTION3, "not a registration number"),
        ("0-12", SECTION3, "not a registration number"),
        ("", SECTION3, "missing"),
        ("   ", SECTION3, "missing"),
        ("99999-TX-1", SECTION3, "establishment number"),
        ("99999-12", RegistrationKind.DISTRIBUTOR, "not a registration number"),
        ("99999-12", RegistrationKind.EXEMPT_25B, "has no registration number"),
        ("99999999-12", SECTION3, "not a registration number"),
        ("٩٩٩-١٢", SECTION3, "not a registration number"),
    ],
)
def test_refused(text: str, kind: RegistrationKind, says: str) -> None:
    with pytest.raises(Refused, match=says) as refused:
        normalize(text, kind)
    assert refused.value.code == "registration_number"


def test_file_symbol_letters() -> None:
    """R E G U L A T I O N are 1 to 9 and 0 (EPA Label Review Manual, ch. 14)."""
    assert registered_as("99999-REGULATION") == "99999-1234567890"


def test_distributor() -> None:
    assert distributor("99999-12-88888") == "88888"
    assert distributor("99999-12") == distributor("99999-12-AA") == ""
