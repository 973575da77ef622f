"""Addresses, ZIP codes and names."""

from __future__ import annotations

import pytest

from sites.rules.addresses import address_key, full_name_ok, is_state, is_zip


@pytest.mark.parametrize(
    ("street", "city", "zip_code"),
    [
        ("12 north oak street", "Saint Anne", "43001"),
        ("12 N. Oak St.", "ST. ANNE", "43001-1234"),
        ("  12  N Oak  St ", "St Anne", " 43001"),
    ],
)
def test_one_property(street: str, city: str, zip_code: str) -> None:
    assert address_key(street, city, "OH", zip_code) == "12 N OAK ST|ST ANNE|OH|43001"


def test_units_are_spelled_in_many_ways() -> None:
    keys = {
        address_key(f"4 Elm Ct {unit}", "Rye", "NY", "10580")
        for unit in ("#2", "Apt 2", "Apartment #2", "apt. # 2")
    }
    assert keys == {"4 ELM CT APT 2|RYE|NY|10580"}


def test_neighbors_stay_apart() -> None:
    assert address_key("12 Oak St", "Rye", "NY", "10580") != address_key(
        "12 Oak Ave", "Rye", "NY", "10580"
    )


@pytest.mark.parametrize(
    ("text", "ok"),
    [
        ("43001", True),
        ("43001-1234", True),
        ("00501", True),
        ("4300", False),
        ("430011", False),
        ("00000", False),
        ("43001-", False),
        ("", False),
        ("４３００１", False),
        ("4300l", False),
    ],
)
def test_zip(text: str, ok: bool) -> None:
    assert is_zip(text) is ok


def test_states() -> None:
    assert is_state("OH") and is_state("DC") and not is_state("ZZ") and not is_state("oh")


@pytest.mark.parametrize(
    ("name", "ok"),
    [
        ("Dana Whitcomb", True),
        ("Mary-Jane O'Neil", True),
        ("José Núñez", True),
        ("Robert Hale Jr.", True),
        ("D. Whitcomb", False),
        ("Dana W", False),
        ("Dana", False),
        ("Dana Q. Whitcomb", False),
        ("", False),
        ("Dana 2", False),
    ],
)
def test_full_names(name: str, ok: bool) -> None:
    """Oregon takes no initials and no partial names (reference/regulations.md 2.4)."""
    assert full_name_ok(name) is ok
