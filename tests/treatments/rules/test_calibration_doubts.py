"""When a measured output is doubted: other nozzle or pressure, a year (common practice)."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from treatments.rules.calibration_doubts import Setup, doubts

TODAY = date(2026, 11, 25)
FAN = Setup("Fan, 8002", Decimal(30))


@pytest.mark.parametrize(
    ("measured", "used", "days_ago", "said"),
    [
        (FAN, FAN, 365, ()),
        (FAN, FAN, 366, ("Measured more than a year ago, on Nov 24, 2025",)),
        (FAN, Setup("FAN,  8002", Decimal("30.0")), 0, ()),
        (FAN, Setup("Cone", Decimal(30)), 0, ("Measured with Fan, 8002, now Cone",)),
        (FAN, Setup("Fan, 8002", Decimal(40)), 0, ("Measured at another pressure",)),
        # what nobody wrote down says nothing
        (Setup("", None), FAN, 0, ()),
        (FAN, Setup("", None), 0, ()),
    ],
)
def test_what_speaks_against_a_measurement(
    measured: Setup, used: Setup, days_ago: int, said: tuple[str, ...]
) -> None:
    assert doubts(measured, used, TODAY - timedelta(days=days_ago), TODAY) == said
