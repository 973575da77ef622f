"""The numbers of the season, each with what it means, its first value and where that is from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation

from accounts.refusals import Refused

MonthDay = tuple[int, int]
LEAP_YEAR = 2000  # so that 02-29 can be read


@dataclass(frozen=True)
class Setting:
    """One number: how it is asked for, its first value, its least and most, its source.

    `is_day` is a day of the year, written as month-day. Without a source it is a house rule.
    """

    code: str
    words: str
    first: str
    source: str = ""
    least: int = 0
    most: int = 0
    is_day: bool = False


SETTINGS: tuple[Setting, ...] = (
    Setting("season_starts", "The season starts", "09-01", is_day=True),
    Setting("season_ends", "The season ends", "11-15", is_day=True),
    Setting("north_of", "North of, degrees of latitude", "33", least=0, most=90),
    Setting("short_day_hours", "Days are short below, hours", "12.5", least=8, most=16),
    # first frost or near frost, then warm: UW-Madison insect lab, 2020-10-09 (read); number ours
    Setting("frost_c", "A frost is a low of at most, °C", "1", least=-10, most=10),
    # mid-60s F: University of Kentucky lady beetle text (read as reproduced by county agents)
    Setting(
        "warm_c", "A warm day reaches, °C", "18",
        "Univ. of Kentucky, lady beetles: at least the mid-60s °F", least=5, most=35,
    ),
    Setting("cloud_below", "A sunny day has clouds below, %", "40", least=1, most=100),
    Setting("cooler_by_c", "The three days before are cooler by, °C", "4", least=0, most=20),
    Setting("lead_days", "Days to book before the expected flight", "21", least=0, most=90),
    Setting("default_book_by", "Book by, where no autumn was read (40° N)", "09-15", is_day=True),
    Setting("withdraw_from", "Inspect instead of treating from", "11-01", is_day=True),
    Setting("withdraw_until", "Inspect instead of treating through", "03-31", is_day=True),
    Setting(
        "dd_threshold_f", "Degree days count above, °F", "51.8",
        "UC IPM, elm leaf beetle model", least=32, most=80,
    ),
    Setting(
        "dd_from", "Degree days count from", "03-01", "UC IPM, elm leaf beetle model", is_day=True
    ),
)  # fmt: skip
BY_CODE: Mapping[str, Setting] = {one.code: one for one in SETTINGS}


@dataclass(frozen=True)
class SettingRow:
    """Another value of one number from a day on."""

    code: str
    value: str
    from_on: date
    source: str = ""
    pk: int = 0


@dataclass(frozen=True)
class SeasonNumbers:
    """The numbers in force on one day; days of the year are (month, day)."""

    season_starts: MonthDay
    season_ends: MonthDay
    north_of: float
    short_day_hours: float
    frost_c: float
    warm_c: float
    cloud_below: float
    cooler_by_c: float
    lead_days: int
    book_by: MonthDay
    withdraw_from: MonthDay
    withdraw_until: MonthDay
    dd_threshold_c: float
    dd_from: MonthDay

    def season(self, year: int) -> tuple[date, date]:
        """First and last day of a year's season."""
        return _in_year(self.season_starts, year), _in_year(self.season_ends, year)

    def default_book_by(self, year: int) -> date:
        return _in_year(self.book_by, year)

    def degree_days_from(self, year: int) -> date:
        return _in_year(self.dd_from, year)


def _in_year(at: MonthDay, year: int) -> date:
    """A day of the year in one year; February 29 is the 28th in a common one."""
    is_leap_day = at == (2, 29)
    is_leap = year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
    return date(year, 2, 28) if is_leap_day and not is_leap else date(year, *at)


def rows_in_force(rows: Iterable[SettingRow], on: date) -> dict[str, SettingRow]:
    """The last row of each number that begins on or before a day."""
    held: dict[str, SettingRow] = {}
    for row in sorted(rows, key=lambda one: (one.from_on, one.pk)):
        if row.from_on <= on:
            held[row.code] = row
    return held


def numbers_on(rows: Iterable[SettingRow], on: date) -> SeasonNumbers:
    """The numbers of a day: the firm's rows, else the first values."""
    held = rows_in_force(rows, on)
    told = {one.code: held[one.code].value if one.code in held else one.first for one in SETTINGS}
    return SeasonNumbers(
        season_starts=month_day(told["season_starts"]),
        season_ends=month_day(told["season_ends"]),
        north_of=float(told["north_of"]),
        short_day_hours=float(told["short_day_hours"]),
        frost_c=float(told["frost_c"]),
        warm_c=float(told["warm_c"]),
        cloud_below=float(told["cloud_below"]),
        cooler_by_c=float(told["cooler_by_c"]),
        lead_days=int(Decimal(told["lead_days"])),
        book_by=month_day(told["default_book_by"]),
        withdraw_from=month_day(told["withdraw_from"]),
        withdraw_until=month_day(told["withdraw_until"]),
        dd_threshold_c=celsius(float(told["dd_threshold_f"])),
        dd_from=month_day(told["dd_from"]),
    )


def month_day(text: str) -> MonthDay:
    """Read month-day: 09-15."""
    month, day = text.split("-")
    found = date(LEAP_YEAR, int(month), int(day))
    return found.month, found.day


def celsius(fahrenheit: float) -> float:
    """Exact by definition: (F - 32) / 1.8."""
    return (fahrenheit - 32) / 1.8


def checked_value(code: str, text: str) -> str:
    """A value as it is kept; refused when it is no day, no number or out of reach."""
    setting = BY_CODE.get(code)
    if setting is None:
        raise Refused("rule", "There is no such number of the season.")
    try:
        if setting.is_day:
            return "{:02}-{:02}".format(*month_day(text.strip()))
        return _checked_number(setting, Decimal(text.strip()))
    except (ValueError, InvalidOperation) as wrong:
        how = "a day as 09-15" if setting.is_day else f"a number as {setting.first}"
        raise Refused("value", f"Write {how}.", field="value") from wrong


def _checked_number(setting: Setting, number: Decimal) -> str:
    if not number.is_finite() or not setting.least <= number <= setting.most:
        reach = f"from {setting.least} to {setting.most}"
        raise Refused("value", f"Write a number {reach}.", field="value")
    if setting.code == "lead_days" and number != number.to_integral_value():
        raise Refused("value", "Write whole days.", field="value")
    return f"{number.normalize():f}"


def refuse_backwards(numbers: SeasonNumbers) -> None:
    """Refused: a season that ends before it starts; it lies within one year."""
    if numbers.season_ends < numbers.season_starts:
        raise Refused("value", "The season would end before it starts.", field="value")
