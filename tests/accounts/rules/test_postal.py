"""States, ZIP codes, time zones."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import pytest

from accounts.rules.postal import TIME_ZONES, US_STATES, is_state, is_zip, main_time_zone


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


def test_every_state_has_a_zone_the_machine_knows() -> None:
    """The names are those of the public time zone database."""
    for state in US_STATES:
        assert main_time_zone(state) in TIME_ZONES
    assert all(ZoneInfo(name).key == name for name in TIME_ZONES)
    assert main_time_zone("OH") == "America/New_York"
    assert main_time_zone("CA") == "America/Los_Angeles"
