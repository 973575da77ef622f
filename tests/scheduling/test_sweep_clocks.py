"""The sweep looks at the clocks of incidents and at what was purged, and opens each matter once."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from accounts.models import OpenItem
from scheduling.services.sweep import sweep_now
from tests.treatments.conftest import NOW, House, make_house
from tests.treatments.incident_cases import reported
from tests.treatments.test_purging import LONG_AGO, purge, recorded
from treatments.services.holds import set_hold

__all__ = ["make_house"]
pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(("hours", "codes"), [(48, []), (49, ["incident_notice_late"])])
def test_a_clock_that_ran_out(make_house: Any, hours: int, codes: list[str]) -> None:
    house: House = make_house(state="MA", city="Boston")
    reported(house, happened_at=NOW)
    for _ in range(2):
        sweep_now(now=NOW + timedelta(hours=hours))
    found = OpenItem.objects.exclude(code="incident_notice").values_list("code", flat=True)
    assert list(found) == codes


def test_a_purge_under_a_hold(make_house: Any, manager: Any) -> None:
    house: House = make_house()
    record = recorded(house, LONG_AGO)
    purge()
    sweep_now(now=NOW)
    assert not OpenItem.objects.filter(code="purged_early").exists()
    set_hold(record_id=record.pk, reason="A claim.", by=manager, now=NOW - timedelta(days=1))
    for _ in range(2):
        sweep_now(now=NOW)
    assert OpenItem.objects.get(code="purged_early").thing == (
        f"treatments.applicationrecord:{record.pk}"
    )
