"""Telephone numbers (ITU E.164: + and at most 15 digits; the US plan has ten after +1)."""

from __future__ import annotations

import pytest

from accounts.refusals import Refused
from accounts.rules.phones import readable, to_e164


@pytest.mark.parametrize(
    "typed",
    ["614-555-0100", "(614) 555 0100", "1 614 555 0100", "+1 614.555.0100", " 6145550100 "],
)
def test_one_number_in_many_spellings(typed: str) -> None:
    assert to_e164(typed) == "+16145550100"


def test_other_countries_and_nothing() -> None:
    assert to_e164("+44 20 7946 0000") == "+442079460000"
    assert to_e164("   ") == ""
    assert readable("+16145550100") == "(614) 555-0100"
    assert readable("not a number") == "not a number"


@pytest.mark.parametrize(
    "typed",
    ["555-0100", "614 555 01000000", "call Pat", "614-555-0100 ext 3", "1-800-FLOWERS", "٣"],
)
def test_no_number(typed: str) -> None:
    with pytest.raises(Refused) as caught:
        to_e164(typed, "after_hours_phone")
    assert caught.value.code == "phone"
    assert caught.value.facts["field"] == "after_hours_phone"
    assert "ten digits" in caught.value.sentence
