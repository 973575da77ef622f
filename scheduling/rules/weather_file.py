"""A file of daily weather, read as a whole with every problem named by its row."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Protocol, TypeVar

from accounts.refusals import Refused

MOST_BYTES, MOST_ROWS, MOST_SHOWN = 2 * 1024 * 1024, 20_000, 30
COLDEST, HOTTEST = Decimal(-60), Decimal(60)  # house rule: beyond is a typing error, in C
MM_AN_INCH = Decimal("25.4")  # exact, NIST HB 44
NAMES = ("day", "low_f", "high_f", "low_c", "high_c", "cloud_percent", "rain_mm", "rain_in")
HEADER = (
    "day, low_f and high_f (or low_c and high_c), and if known cloud_percent, rain_in or rain_mm"
)

T = TypeVar("T")


@dataclass(frozen=True)
class DayWeather:
    """One day as it is stored, in C and mm."""

    day: date
    low_c: Decimal
    high_c: Decimal
    cloud_percent: int | None = None
    rain_mm: Decimal | None = None


class WeatherProvider(Protocol):
    """Whoever gives the weather of days at a place; none is built in, a firm may write one."""

    name: str

    def days(
        self, latitude: float, longitude: float, first: date, last: date
    ) -> Iterable[DayWeather]:
        """The days from first to last, both included; days that are not known are left out."""
        ...


def weather_day(
    *,
    day: date,
    low: Decimal,
    high: Decimal,
    unit: str,
    cloud_percent: int | None,
    rain_mm: Decimal | None,
    today: date,
) -> DayWeather:
    """One day from what somebody read; `unit` is F or C.

    Refused: a day to come, a low above the high, temperatures nobody ever read.
    """
    low_c, high_c = (_celsius(one, unit) for one in (low, high))
    if day > today:
        raise Refused("day", "This day has not come yet.", field="day")
    if low_c > high_c:
        raise Refused("low", "The low is above the high.", field="low")
    if low_c < COLDEST or high_c > HOTTEST:
        raise Refused("high", "Nobody reads such a temperature outside here.", field="high")
    return DayWeather(day, low_c, high_c, cloud_percent, rain_mm)


def _celsius(degrees: Decimal, unit: str) -> Decimal:
    exact = degrees if unit == "C" else (degrees - 32) / Decimal("1.8")
    return exact.quantize(Decimal("0.01"))


def read_weather(raw: bytes, today: date) -> list[DayWeather]:
    """Every day of a CSV file; taken whole or refused with each problem by row and column.

    The first row is row 1 and names the columns. Refused: another encoding than UTF-8, too much,
    unknown or missing columns, a day twice, a cell that is none.
    """
    lines = _lines(raw)
    names = [name.strip().lower() for name in lines[0]]
    unit = _unit_of(names)
    found: dict[date, DayWeather] = {}
    problems: list[str] = []
    for number, cells in enumerate(lines[1:], start=2):
        if not any(cell.strip() for cell in cells):
            continue
        try:
            one = _row(cells, names, unit, today)
        except Refused as refused:
            problems.append(f"Row {number}, {refused.code}: {refused.sentence}")
            continue
        if one.day in found:
            problems.append(f"Row {number}, day: {one.day} stands there twice.")
        found[one.day] = one
    _refuse_all(problems, bool(found))
    return list(found.values())


def _refuse_all(problems: list[str], has_any: bool) -> None:
    if problems:
        more = len(problems) - MOST_SHOWN
        shown = [*problems[:MOST_SHOWN], *([f"And {more} more."] if more > 0 else [])]
        raise Refused("weather", "Nothing was taken. " + " ".join(shown), field="file")
    if not has_any:
        raise Refused("weather", "The file names no day.", field="file")


def _lines(raw: bytes) -> list[list[str]]:
    if len(raw) > MOST_BYTES:
        raise Refused("weather", "The file is above 2 MB.", field="file")
    try:
        lines = list(csv.reader(io.StringIO(raw.decode("utf-8-sig")), strict=True))
    except (UnicodeDecodeError, csv.Error) as wrong:
        raise Refused("weather", "Save the file as CSV in UTF-8.", field="file") from wrong
    if not lines or len(lines) > MOST_ROWS:
        raise Refused("weather", f"The file must have 2 to {MOST_ROWS} rows.", field="file")
    return lines


def _unit_of(names: list[str]) -> str:
    unknown = [name for name in names if name not in NAMES]
    units = [unit for unit in "FC" if {f"low_{unit.lower()}", f"high_{unit.lower()}"} <= set(names)]
    if unknown or len(units) != 1 or "day" not in names or len(set(names)) < len(names):
        sentence = f"Row 1 must name these columns, each once: {HEADER}."
        raise Refused("weather", sentence, field="file")
    return units[0]


def _row(cells: list[str], names: list[str], unit: str, today: date) -> DayWeather:
    if len(cells) != len(names):
        raise Refused("row", f"has {len(cells)} cells, the first row {len(names)}.")
    row = {name: cell.strip() for name, cell in zip(names, cells, strict=True)}
    small = unit.lower()
    cloud = _cell(row, "cloud_percent", int)
    if cloud is not None and not 0 <= cloud <= 100:
        raise Refused("cloud_percent", "must be from 0 to 100.")
    return weather_day(
        day=_needed(row, "day", date.fromisoformat),
        low=_needed(row, f"low_{small}", _number),
        high=_needed(row, f"high_{small}", _number),
        unit=unit,
        cloud_percent=cloud,
        rain_mm=_rain(row),
        today=today,
    )


def _rain(row: Mapping[str, str]) -> Decimal | None:
    inches = _cell(row, "rain_in", _number)
    rain = _cell(row, "rain_mm", _number) if inches is None else inches * MM_AN_INCH
    if rain is not None and not 0 <= rain <= 2000:
        raise Refused("rain", "no day ever had so much or so little.")
    return None if rain is None else rain.quantize(Decimal("0.1"))


def _needed(row: Mapping[str, str], name: str, read: Callable[[str], T]) -> T:
    found = _cell(row, name, read)
    if found is None:
        raise Refused(name, "is missing.")
    return found


def _cell(row: Mapping[str, str], name: str, read: Callable[[str], T]) -> T | None:
    text = row.get(name, "")
    if not text:
        return None
    try:
        return read(text)
    except (ValueError, InvalidOperation) as wrong:
        how = "a day as 2026-09-15" if name == "day" else "a number"
        raise Refused(name, f"{text[:20]!r} is not {how}.") from wrong


def _number(text: str) -> Decimal:
    number = Decimal(text)
    if not number.is_finite() or abs(number) > 10_000:
        raise ValueError(text)
    return number
