"""Which window protects a zone: derivable from records alone, and equal to what is stored."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sites.rules.places import PestGroup
from tests.factories import make_pest
from tests.treatments.conftest import NOW, House
from treatments.models import ResidualWindow, ZoneProtection
from treatments.rules.applications import HistoricRow
from treatments.rules.protections import OpenedWindow, Protection, protections
from treatments.selectors.windows import (
    lapsing,
    protection_drift,
    protection_of,
    windows_of,
)
from treatments.services.history import record_history
from treatments.services.protections import refresh_protections
from treatments.services.recording import record_application

DAY = date(2026, 3, 1)


def opened(key: int, group: str, treatment: int, day: int, days: int = 90) -> OpenedWindow:
    """A window of zone 1, opened `day` days after March 1."""
    on = DAY + timedelta(days=day)
    return OpenedWindow(key, 1, group, ("record", treatment), on, on + timedelta(days=days))


def test_the_latest_application_is_in_force_even_when_it_is_shorter() -> None:
    found = protections([opened(1, "ants", 1, 0, days=365), opened(2, "ants", 2, 30, days=30)])
    assert found == [Protection(1, "ants", 2, True, DAY + timedelta(days=60))]


def test_on_one_day_the_later_row_is_in_force() -> None:
    found = protections([opened(2, "ants", 2, 0, days=30), opened(1, "ants", 1, 0)])
    assert [(one.window, one.counts) for one in found] == [(2, True)]


def test_only_the_groups_of_the_last_treatment_count() -> None:
    found = protections(
        [opened(1, "general", 1, 0), opened(2, "ants", 2, 10), opened(3, "spiders", 2, 10)]
    )
    assert {one.pest_group: one.counts for one in found} == {
        "general": False,
        "ants": True,
        "spiders": True,
    }


windows = st.lists(
    st.builds(
        OpenedWindow,
        key=st.integers(1, 400),
        zone_id=st.integers(1, 3),
        pest_group=st.sampled_from(["general", "ants", "spiders"]),
        treatment=st.tuples(st.just("record"), st.integers(1, 5)),
        applied_on=st.dates(date(2026, 1, 1), date(2026, 1, 6)),
        expires_on=st.dates(date(2026, 2, 1), date(2026, 6, 1)),
    ),
    unique_by=lambda window: window.key,
    max_size=14,
)


@given(windows)
def test_protections_equal_a_search_over_every_pair(given_windows: list[OpenedWindow]) -> None:
    def later(one: OpenedWindow, other: OpenedWindow) -> bool:
        return (one.applied_on, one.key) > (other.applied_on, other.key)

    expected = set()
    for window in given_windows:
        zone = [other for other in given_windows if other.zone_id == window.zone_id]
        group = [other for other in zone if other.pest_group == window.pest_group]
        if any(later(other, window) for other in group):
            continue
        last = next(one for one in zone if not any(later(other, one) for other in zone))
        counts = last.treatment == window.treatment
        row = (window.zone_id, window.pest_group, window.key, counts, window.expires_on)
        expected.add(Protection(*row))
    assert set(protections(given_windows)) == expected


@pytest.mark.engine
@pytest.mark.django_db
def test_a_record_ends_what_the_spreadsheet_called_general(house: House) -> None:
    history(house, NOW.date() - timedelta(days=100), 90)
    assert ZoneProtection.objects.get().counts
    record_application(application=house.application(), by=house.technician, now=NOW)
    kept = {row.pest_group: row.counts for row in ZoneProtection.objects.all()}
    assert kept == {"general": False, "overwintering": True}
    assert protection_drift() == []


def history(house: House, on: date, days: int | None) -> None:
    """One row of the firm's spreadsheet for the band."""
    row = HistoricRow(house.band.pk, "Something", "Somebody", on, days)
    record_history(
        branch_id=house.place.branch_id,
        file_name="a.csv",
        file_sha256="0" * 64,
        rows=[row],
        by=None,
        now=NOW,
    )


@pytest.mark.engine
@pytest.mark.django_db
@settings(
    max_examples=12,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(["history", "overwintering", "ants", "both", "nothing"]),
            st.integers(0, 40),
            st.sampled_from([None, 30, 90]),
        ),
        max_size=5,
    )
)
def test_whatever_happens_nothing_drifts(
    house: House, ants: object, story: list[tuple[str, int, int | None]]
) -> None:
    for what, days_ago, claim in story:
        happen(house, ants, what, days_ago, claim)
        assert protection_drift() == []
    for zone_id, rows in protection_of([house.band.pk]).items():
        expected = brute_force(zone_id)
        assert {(row.pest_group, row.window_id, row.counts) for row in rows} == expected


@pytest.fixture
def ants(house: House) -> object:
    """A second pest of the direction, of another group."""
    pest = make_pest("Odorous house ant", PestGroup.ANTS)
    house.use.pests.add(pest)
    return pest


def happen(house: House, ants: object, what: str, days_ago: int, claim: int | None) -> None:
    """One thing of a story: a spreadsheet row or a record, some days ago."""
    at = NOW - timedelta(days=days_ago)
    if what == "history":
        history(house, at.date(), claim)
        return
    pests = {
        "overwintering": (house.pest.pk,),
        "ants": (ants.pk,),  # type: ignore[attr-defined]
        "both": (house.pest.pk, ants.pk),  # type: ignore[attr-defined]
        "nothing": (house.pest.pk,),
    }[what]
    application = house.application(
        pest_ids=pests,
        started_at=at - timedelta(minutes=40),
        finished_at=at - timedelta(minutes=20),
    )
    if what == "nothing":
        application = replace(
            application, label_use_id=None, product_amount=None, finished_amount=None
        )
    record_application(application=application, by=house.technician, now=NOW)


def brute_force(zone_id: int) -> set[tuple[str, int, bool]]:
    """The protections of a zone, from its rows one by one."""
    rows = list(ResidualWindow.objects.filter(zone_id=zone_id).order_by("applied_on", "pk"))
    last = rows[-1]
    groups = {row.pest_group: row for row in rows}
    return {
        (
            group,
            row.pk,
            (row.treated_area_id, row.historic_id) == (last.treated_area_id, last.historic_id),
        )
        for group, row in groups.items()
    }


@pytest.mark.django_db
def test_a_drift_is_said(house: House) -> None:
    record_application(application=house.application(), by=house.technician, now=NOW)
    ZoneProtection.objects.update(counts=False)
    assert protection_drift() == [
        f"Kept and not derivable: zone {house.band.pk}, overwintering, until 2027-02-23, "
        "does not count",
        f"Derivable and not kept: zone {house.band.pk}, overwintering, until 2027-02-23, counts",
    ]
    refresh_protections([house.band.pk])
    assert protection_drift() == []


@pytest.mark.django_db
def test_a_protection_whose_window_is_gone_goes_too(house: House) -> None:
    history(house, NOW.date() - timedelta(days=5), 90)
    ResidualWindow.objects.all().delete()
    refresh_protections([house.band.pk])
    assert not ZoneProtection.objects.exists()


@pytest.mark.django_db
def test_lapsing_counts_only_what_counts_and_is_not_retired(
    make_house: Callable[..., House], branch_penn: object
) -> None:
    house = make_house()
    history(house, NOW.date() - timedelta(days=100), 90)
    record_application(application=house.application(), by=house.technician, now=NOW)
    end = date(2027, 2, 23)
    branch_id = house.place.branch_id
    assert [row.pest_group for row in lapsing(before=end + timedelta(days=1))] == ["overwintering"]
    assert list(lapsing(before=end)) == []
    assert lapsing(before=end + timedelta(days=1), branch_id=branch_id).count() == 1
    assert lapsing(before=end + timedelta(days=1), branch_id=branch_id + 1).count() == 0
    house.band.retired_on = NOW.date()
    house.band.save()
    assert list(lapsing(before=end + timedelta(days=1))) == []


@pytest.mark.django_db
def test_windows_of_a_zone_have_both_sources(house: House) -> None:
    history(house, NOW.date() - timedelta(days=100), 90)
    record_application(application=house.application(), by=house.technician, now=NOW)
    sources = [window.historic_id is None for window in windows_of([house.band.pk])[house.band.pk]]
    assert sources == [False, True]
