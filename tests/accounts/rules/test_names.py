"""Names of people."""

from __future__ import annotations

import pytest

from accounts.rules.names import full_name_ok


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
    """Oregon takes no initials and no partial names (Oregon Dept. of Agriculture, read)."""
    assert full_name_ok(name) is ok
