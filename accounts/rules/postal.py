"""States, ZIP codes and the time zone a state's shops usually keep."""

from __future__ import annotations

import re

from accounts.refusals import Refused

ZIP = re.compile(r"(?!00000)[0-9]{5}(-[0-9]{4})?")
# fmt: off
US_STATES = frozenset(
    {
        "AL", "AK", "AZ", "AR", "CA", "CO", "CT", "DE", "DC", "FL", "GA", "HI", "ID", "IL",
        "IN", "IA", "KS", "KY", "LA", "ME", "MD", "MA", "MI", "MN", "MS", "MO", "MT", "NE",
        "NV", "NH", "NJ", "NM", "NY", "NC", "ND", "OH", "OK", "OR", "PA", "RI", "SC", "SD",
        "TN", "TX", "UT", "VT", "VA", "WA", "WV", "WI", "WY", "PR", "VI", "GU", "AS", "MP",
    }
)
# The zone most of the state keeps (from memory of the public time zone database); the branch's
# own page changes it where a shop lies in the other part.
_ZONES: dict[str, tuple[str, ...]] = {
    "America/Chicago": (
        "AL", "AR", "IL", "IA", "KS", "LA", "MN", "MS", "MO", "NE", "ND", "OK", "SD", "TN",
        "TX", "WI",
    ),
    "America/Denver": ("CO", "ID", "MT", "NM", "UT", "WY"),
    "America/Phoenix": ("AZ",),
    "America/Los_Angeles": ("CA", "NV", "OR", "WA"),
    "America/Anchorage": ("AK",),
    "Pacific/Honolulu": ("HI",),
    "America/Puerto_Rico": ("PR", "VI"),
    "Pacific/Guam": ("GU", "MP"),
    "Pacific/Pago_Pago": ("AS",),
}
# fmt: on
EASTERN = "America/New_York"
TIME_ZONES = (EASTERN, *_ZONES, "America/Indiana/Indianapolis", "America/Detroit")


def is_zip(text: str) -> bool:
    """Five digits, or five and four; a record without ZIP fails in New York (read)."""
    return ZIP.fullmatch(text) is not None


def is_state(text: str) -> bool:
    """A two-letter code of a state, the District of Columbia or a territory, in capitals."""
    return text in US_STATES


def main_time_zone(state: str) -> str:
    """The time zone most of a state keeps; Eastern where nothing else is known."""
    return next((zone for zone, states in _ZONES.items() if state in states), EASTERN)


def state_code(typed: str, field: str = "state") -> str:
    """A state's two letters in capitals; refused, naming `field`, when there is no such state."""
    code = typed.strip().upper()
    if not is_state(code):
        raise Refused(
            "state",
            f'"{typed[:20]}" is not a state. Write its two letters, OH for example.',
            field=field,
        )
    return code


def zip_line(typed: str, field: str = "zip_code") -> str:
    """A ZIP code; refused, naming `field`, when it has not 5 digits, or 5 and 4."""
    code = typed.strip()
    if not is_zip(code):
        raise Refused(
            "zip",
            f'"{code[:12]}" is not a ZIP code. Write 5 digits, or 5 and 4: 43001-1234.',
            field=field,
        )
    return code
