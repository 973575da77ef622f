"""Entering numbers of the season and the weather of days."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.selectors.people import branches_for
from accounts.services.audit import note_event
from scheduling.models import SeasonRule, TemperatureReading
from scheduling.rules.season_settings import (
    SettingRow,
    checked_value,
    numbers_on,
    refuse_backwards,
)
from scheduling.rules.weather_file import DayWeather, WeatherProvider, read_weather, weather_day
from scheduling.selectors.season_book import setting_rows

if TYPE_CHECKING:
    from accounts.models import Branch, Person

DAYS_A_WRITING = 500


@transaction.atomic
def enter_season_rule(
    *, code: str, value: str, from_on: date, source: str, by: Person | None
) -> SeasonRule:
    """Let one number of the season be another from a day on; the earlier rows stay.

    Refused: what `checked_value` refuses, a season that would end before it starts.
    """
    require(by, Permission.EDIT_LABELS)
    kept = checked_value(code, value)
    rows = [*setting_rows(), SettingRow(code, kept, from_on, source, pk=1 << 62)]
    refuse_backwards(numbers_on(rows, from_on))
    stored = SeasonRule.objects.create(
        code=code, value=kept, from_on=from_on, source=source.strip(), created_by=by
    )
    note_event(by=by, act="enter_season_rule", thing=stored, value=kept)
    return stored


def enter_reading(
    *,
    branch_id: int,
    day: date,
    low: Decimal,
    high: Decimal,
    unit: str,
    cloud_percent: int | None,
    rain_mm: Decimal | None,
    today: date,
    by: Person | None,
    now: datetime,
) -> None:
    """Write the weather of one day that somebody read; a day that is there is written anew.

    Refused: what `weather_day` refuses, a branch one does not work for.
    """
    require(by, Permission.BOOK_VISITS)
    one = weather_day(
        day=day,
        low=low,
        high=high,
        unit=unit,
        cloud_percent=cloud_percent,
        rain_mm=rain_mm,
        today=today,
    )
    _store(_branch(branch_id, by), [one], "entered by hand", by, now)


def import_readings(
    *, branch_id: int, raw: bytes, file_name: str, today: date, by: Person | None, now: datetime
) -> int:
    """Write every day of a CSV file, all or nothing; how many there were.

    Refused: what `read_weather` refuses, with the row of each problem.
    """
    require(by, Permission.BOOK_VISITS)
    days = read_weather(raw, today)
    _store(_branch(branch_id, by), days, f"file {file_name}"[:200], by, now)
    return len(days)


def take_readings(
    *, branch_id: int, provider: WeatherProvider, first: date, last: date, now: datetime
) -> int:
    """Write the days a provider gives for a branch's place; how many there were.

    Refused: a branch whose place on the map is not known.
    """
    branch = _branch(branch_id, None)
    if branch.latitude is None or branch.longitude is None:
        raise Refused("branch", f"{branch} has no place on the map. Enter it first.")
    days = list(provider.days(float(branch.latitude), float(branch.longitude), first, last))
    _store(branch, days, provider.name[:200], None, now)
    return len(days)


def _branch(branch_id: int, by: Person | None) -> Branch:
    found: Branch | None = branches_for(by).filter(pk=branch_id).first()
    if found is None:
        raise Refused("branch", "Choose one of your branches.", field="branch")
    return found


@transaction.atomic
def _store(
    branch: Branch, days: Iterable[DayWeather], source: str, by: Person | None, now: datetime
) -> None:
    rows = [
        TemperatureReading(
            branch=branch,
            day=one.day,
            low_c=one.low_c,
            high_c=one.high_c,
            cloud_percent=one.cloud_percent,
            rain_mm=one.rain_mm,
            source=source,
            created_by=by,
            created_at=now,
        )
        for one in days
    ]
    told = ["low_c", "high_c", "cloud_percent", "rain_mm", "source", "created_by", "created_at"]
    TemperatureReading.objects.bulk_create(
        rows,
        batch_size=DAYS_A_WRITING,
        update_conflicts=True,
        unique_fields=["branch", "day"],
        update_fields=told,
    )
    note_event(by=by, act="enter_weather", thing=branch, now=now, days=len(rows), source=source)
