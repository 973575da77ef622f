"""The deadline is judged by when a record was written, and the device's clock is not believed.

OAC 901:5-11-10 (read): the record of the same day; Nov 25 in Ohio ends at 5:00 UTC.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest

from accounts.models import OpenItem
from accounts.refusals import Refused
from tests.treatments.conftest import NOW, House
from treatments.models import ApplicationRecord, LogEntry
from treatments.selectors.log import verify
from treatments.services.profiles import load_profiles
from treatments.services.recording import Recorded, record_application

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
HOUR = timedelta(hours=1)
MORNING = NOW + timedelta(hours=14)


@pytest.fixture(autouse=True)
def rules(house: House) -> None:
    load_profiles()


def arrived(house: House, at: datetime = MORNING, **device: Any) -> Recorded:
    """The work of the suite's day, written on a device and received at a time."""
    return record_application(application=house.application(**device), by=house.technician, now=at)


def lateness(done: Recorded) -> list[tuple[str, str]]:
    return [(one.severity, one.sentence) for one in done.judgements if one.code == "A02"]


def is_open(done: Recorded) -> bool:
    thing = f"treatments.applicationrecord:{done.record.pk}"
    return OpenItem.objects.filter(code="record_late", thing=thing, closed_at=None).exists()


def test_written_in_time_and_received_late_is_no_violation(house: House) -> None:
    device = {"device_time": NOW.isoformat(), "device_skew_s": 0, "sent_skew_s": 0}
    done = arrived(house, **device)
    ((severity, sentence),) = lateness(done)
    assert severity == "note"
    assert (
        sentence == "Written in time, Nov 25, 2026, 3:00 PM, received late, Nov 26, 2026, 5:00 AM"
    )
    assert not is_open(done)
    record = ApplicationRecord.objects.get(pk=done.record.pk)
    assert (record.completed_at, record.received_at) == (NOW, MORNING)
    assert record.sent_skew_s == 0
    assert b'"sent_skew_s":0' in bytes(LogEntry.objects.get(record=record).leaf)
    assert verify(house.place.branch_id).is_whole


def test_without_a_device_the_arrival_counts(house: House) -> None:
    done = arrived(house)
    ((severity, sentence),) = lateness(done)
    assert severity == "warn" and "Recorded after Nov 26, 2026, 12:00 AM" in sentence
    assert is_open(done) and done.record.completed_at is None


def test_a_clock_an_hour_ahead_that_was_measured_is_corrected(house: House) -> None:
    # 11:50 PM at the property, shown as 12:50 AM by the device
    wrote = datetime.fromisoformat("2026-11-26T04:50:00+00:00")
    device = {"device_time": (wrote + HOUR).isoformat(), "device_skew_s": 3600}
    done = arrived(house, **device, sent_skew_s=3590)
    assert [severity for severity, _ in lateness(done)] == ["note"]
    assert done.record.completed_at == wrote


def test_a_clock_an_hour_behind_does_not_make_it_early(house: House) -> None:
    # 12:30 AM, shown as 11:30 PM
    wrote = datetime.fromisoformat("2026-11-26T05:30:00+00:00")
    device = {"device_time": (wrote - HOUR).isoformat(), "device_skew_s": -3600}
    done = arrived(house, **device)
    assert [severity for severity, _ in lateness(done)] == ["warn"] and is_open(done)


@pytest.mark.parametrize(
    ("device", "says"),
    [
        # set back an hour between the last contact and the writing, found when it is sent
        ({"device_time": NOW.isoformat(), "device_skew_s": 0, "sent_skew_s": -3600}, "moved by 60"),
        # an hour ahead, and said to be right
        ({"device_time": (MORNING + HOUR).isoformat(), "device_skew_s": 0}, "after it arrived"),
        ({"device_time": (NOW - 5 * HOUR).isoformat(), "device_skew_s": 0}, "before the work was"),
    ],
)
def test_a_clock_in_doubt_opens_the_check_and_the_arrival_counts(
    house: House, device: dict[str, Any], says: str
) -> None:
    done = arrived(house, at=NOW + HOUR if "after" in says else MORNING, **device)
    assert says in lateness(done)[0][1] and is_open(done)
    assert done.record.completed_at == done.record.received_at
    assert verify(house.place.branch_id).is_whole


def test_the_log_goes_by_its_own_clock(house: House) -> None:
    first = arrived(house, device_time=(MORNING + HOUR).isoformat(), device_skew_s=0)
    second = record_application(
        application=house.application(visit_ref="2"), by=house.technician, now=MORNING - HOUR
    )
    entries = LogEntry.objects.filter(record__in=[first.record.pk, second.record.pk])
    assert [one.at for one in entries.order_by("seq")] == [MORNING, MORNING]


@pytest.mark.parametrize("time", ["yesterday", "2026-11-25T15:00:00", "2026-11-25T15:00:00+99:00"])
def test_a_device_time_that_is_none_is_refused(house: House, time: str) -> None:
    with pytest.raises(Refused):
        arrived(house, device_time=time, device_skew_s=0)
    assert not ApplicationRecord.objects.exists()
