"""When a record was written by a clock that may be wrong; every figure a house rule.

The device's time stays as sent, the skew measured before it was saved corrects it; five minutes
between both skews are borne, and what cannot be true is named.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.refusals import Refused
from treatments.rules.device_times import device_moment, written

DONE = datetime(2026, 11, 25, 19, 45, tzinfo=UTC)
ARRIVED = datetime(2026, 11, 26, 9, 0, tzinfo=UTC)
MOVED, AFTER, BEFORE = "moved by", "after it arrived", "before the work was over"


def at(clock: str, day: int = 25) -> datetime:
    return datetime.fromisoformat(f"2026-11-{day}T{clock}+00:00")


@pytest.mark.parametrize(
    ("device", "skew", "sent", "expected", "doubt"),
    [
        # nothing said, nothing measured: the arrival
        ("", 0, 0, ARRIVED, ""),
        ("2026-11-25T19:50:00+00:00", None, None, ARRIVED, ""),
        ("2026-11-25T19:50:00+00:00", 0, 0, at("19:50:00"), ""),
        ("2026-11-25T14:50:00-05:00", 0, None, at("19:50:00"), ""),
        ("2026-11-25T19:50:00+00:00", None, 0, at("19:50:00"), ""),
        # an hour ahead, and measured: corrected; an hour behind too
        ("2026-11-25T20:50:00+00:00", 3600, 3600, at("19:50:00"), ""),
        ("2026-11-25T18:50:00+00:00", -3600, -3600, at("19:50:00"), ""),
        # five minutes between the two are borne, a second more is not
        ("2026-11-25T19:50:00+00:00", 0, 300, at("19:50:00"), ""),
        ("2026-11-25T19:50:00+00:00", 0, 301, ARRIVED, MOVED),
        ("2026-11-25T19:50:00+00:00", 0, -301, ARRIVED, MOVED),
        # set back an hour to be in time, and set right before it is sent
        ("2026-11-25T19:50:00+00:00", 3600, 0, ARRIVED, MOVED),
        # an hour ahead and nobody measured it so
        ("2026-11-26T10:00:00+00:00", 0, 0, ARRIVED, AFTER),
        ("2026-11-26T09:00:02+00:00", 0, 0, ARRIVED, ""),
        ("2026-11-26T09:00:03+00:00", 0, 0, ARRIVED, AFTER),
        # written before it was done
        ("2026-11-25T19:40:00+00:00", 0, 0, at("19:40:00"), ""),
        ("2026-11-25T19:39:59+00:00", 0, 0, ARRIVED, BEFORE),
    ],
)
def test_when_it_was_written(
    device: str, skew: int | None, sent: int | None, expected: datetime, doubt: str
) -> None:
    found = written(device, skew, sent, finished_at=DONE, received_at=ARRIVED)
    assert found.at == expected
    assert doubt in "; ".join(found.doubts) and bool(found.doubts) == bool(doubt)


@given(
    offset=st.integers(-(10**6), 10**6),
    skew=st.integers(-7200, 7200),
    sent=st.integers(-7200, 7200),
)
def test_never_after_the_arrival_and_never_early_unnoticed(
    offset: int, skew: int, sent: int
) -> None:
    device = (ARRIVED + timedelta(seconds=offset)).isoformat()
    found = written(device, skew, sent, finished_at=DONE, received_at=ARRIVED)
    assert found.at <= ARRIVED
    if abs(skew - sent) > 300:
        assert found.doubts
    assert found.doubts == () or found.at == ARRIVED


@pytest.mark.parametrize(
    "text", ["now", "2026-11-25T19:50:00", "0001-01-01T00:00:00+00:00", "9" * 40]
)
def test_what_is_no_time_is_refused(text: str) -> None:
    with pytest.raises(Refused) as refused:
        device_moment(text)
    assert refused.value.code == "time"
