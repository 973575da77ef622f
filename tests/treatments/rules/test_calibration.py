"""Measured output by each method, against reference/trade.md 1.2 and 1.9."""

from __future__ import annotations

from decimal import Decimal

import pytest

from accounts.refusals import Refused
from treatments.rules.calibration import (
    TEST_PLOT_SQ_FT,
    Measuring,
    course_length_ft,
    measured_output,
)


def test_the_three_methods_agree_on_a_gallon_per_thousand() -> None:
    # 43.56 gal per acre is 1 gal per 1,000 sq ft: an acre is 43,560 sq ft (regulations.md 5.2)
    by_ounces = measured_output(Measuring.ACRE_128TH, Decimal("43.56"), None, None)
    by_plot = measured_output(Measuring.AREA, Decimal("0.5"), Decimal(500), None)
    # one gallon, 3,785.411784 mL, in a minute at 1,000 sq ft a minute
    by_flow = measured_output(
        Measuring.TIMED_FLOW, Decimal("3785.411784"), Decimal(60), Decimal(1000)
    )
    assert by_ounces == by_plot == 1
    assert round(by_flow, 20) == 1


def test_the_plot_of_a_128th_acre() -> None:
    # printed as 340.3 sq ft (Kansas State hand sprayer worksheet, read); 43,560 / 128 exactly
    assert Decimal("340.3125") == TEST_PLOT_SQ_FT
    assert round(TEST_PLOT_SQ_FT, 1) == Decimal("340.3")
    # derived: the square of 18.5 ft that is walked instead is 342.25 sq ft, 0.57 % too large
    bias = (Decimal("18.5") ** 2 / TEST_PLOT_SQ_FT - 1) * 100
    assert round(bias, 2) == Decimal("0.57")
    # as taught: 340 sq ft at 6 ft are 56.67 ft (NC State backpack worksheet, read)
    assert round(course_length_ft(Decimal(6)), 2) == Decimal("56.67")


@pytest.mark.parametrize(
    ("measuring", "caught", "over", "pace"),
    [
        (Measuring.AREA, "0", "500", None),
        (Measuring.AREA, "1", "0", None),
        (Measuring.AREA, "1", None, None),
        (Measuring.TIMED_FLOW, "900", "60", None),
        (Measuring.TIMED_FLOW, "900", "60", "0"),
        (Measuring.ACRE_128TH, "-1", None, None),
    ],
)
def test_what_is_no_measurement(
    measuring: Measuring, caught: str, over: str | None, pace: str | None
) -> None:
    numbers = [None if one is None else Decimal(one) for one in (over, pace)]
    with pytest.raises(Refused) as refused:
        measured_output(measuring, Decimal(caught), *numbers)
    assert refused.value.code == "calibration"
