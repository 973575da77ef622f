"""Lists of a logbook whose tables may not be there yet say so."""

from __future__ import annotations

from datetime import date

from scheduling.rules.site_logbook import device_list, trend_list
from sites.rules.trends import by_month

TODAY = date(2026, 11, 25)


def test_no_devices_kept_is_not_a_map_without_devices() -> None:
    unknown, none, one = device_list(None), device_list(()), device_list((("1", "", "", ""),))
    assert unknown.said == "no devices kept yet" and unknown.missing
    assert none.said == "0 devices" and not none.missing
    assert one.said == "1 device" and one.labeled[0][0] == ("Number", "1")


def test_findings_stand_in_the_trend_only_where_they_are_kept() -> None:
    without = trend_list(by_month([TODAY], None, TODAY))
    assert without.head == ("Month", "Sightings") and without.missing
    assert without.rows[-1] == ("Nov 2026", "1")
    kept = trend_list(by_month([TODAY], [TODAY, TODAY], TODAY))
    assert kept.head == ("Month", "Sightings", "Findings") and not kept.missing
    assert kept.rows[-1] == ("Nov 2026", "1", "2")
