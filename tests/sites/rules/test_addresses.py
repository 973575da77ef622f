"""Addresses."""

from __future__ import annotations

import pytest

from sites.rules.addresses import address_key


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
