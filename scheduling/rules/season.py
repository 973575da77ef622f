"""When autumn invaders fly to buildings: day length, degree days, flight days, books-by date.

Every number is a row a manager can change (`SETTINGS` are the first ones); what is no published
figure is marked a house rule. The label, local rules and licensed practice govern.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import acos, pi, sqrt
from statistics import median_low

from astral import Observer
from astral.sun import dawn, dusk

from accounts.rules.day_words import short_day
from scheduling.rules.season_settings import SeasonNumbers

# the upper limb on the horizon with mean refraction, as almanacs count (US Naval Observatory)
BELOW_HORIZON = 0.8333
DEFAULT_LATITUDE = 40.0  # where the default day of the house rule was set
YEARS_BACK = 5
COOLER_DAYS = 3


@dataclass(frozen=True)
class Reading:
    """The weather of one day; `cloud_percent` and `rain_mm` are None where nobody read them."""

    day: date
    low_c: float
    high_c: float
    cloud_percent: int | None = None
    rain_mm: float | None = None


@dataclass(frozen=True)
class Season:
    """One autumn of one property: flight is expected on `flight_on`, over after `ends_on`.

    Bookings are made by `books_by`; `because` says where the day comes from.
    """

    starts_on: date
    books_by: date
    flight_on: date
    ends_on: date
    because: str


def day_length(latitude: float, day: date) -> float:
    """Hours from sunrise to sunset at a latitude (degrees, north positive); 0 or 24 at the poles.

    Source: `astral`, with the sun's center 0.8333 degrees below the horizon.
    """
    place = Observer(latitude, 0.0, 0.0)
    try:
        rises = dawn(place, day, depression=BELOW_HORIZON)
        sets = dusk(place, day, depression=BELOW_HORIZON)
    except ValueError:
        is_north_summer = (3, 20) < (day.month, day.day) < (9, 23)
        return 24.0 if is_north_summer == (latitude > 0) else 0.0
    return ((sets - rises).total_seconds() / 3600) % 24


def first_day_below(latitude: float, hours: float, year: int) -> date | None:
    """The first day after midsummer with less daylight, by the northern year; None when none is.

    Also None where midsummer itself is shorter.
    """
    first = date(year, 6, 21)
    if day_length(latitude, first) < hours:
        return None
    days = (first + timedelta(days=n) for n in range(184))
    return next((day for day in days if day_length(latitude, day) < hours), None)


def degree_days(low: float, high: float, threshold: float) -> float:
    """The degree days of one day by the single sine, without an upper threshold.

    All in one scale. Source: UC IPM's single sine; checked with the values of the test.
    """
    if high <= threshold:
        return 0.0
    mean, reach = (high + low) / 2, (high - low) / 2
    if low >= threshold:
        return mean - threshold
    angle = pi / 2 - acos(max(-1.0, min(1.0, (threshold - mean) / reach)))
    return ((mean - threshold) * (pi / 2 - angle) + sqrt(reach**2 - (threshold - mean) ** 2)) / pi


def degree_days_since(
    readings: Iterable[Reading], start: date, end: date, threshold_c: float
) -> tuple[float, int]:
    """Degree days (C) of `start <= day <= end`, and how many of these days nobody read."""
    found = {one.day: one for one in readings if start <= one.day <= end}
    total = sum(degree_days(one.low_c, one.high_c, threshold_c) for one in found.values())
    return total, max(0, (end - start).days + 1 - len(found))


def flight_days(
    readings: Sequence[Reading], latitude: float, year: int, numbers: SeasonNumbers
) -> list[date]:
    """The days of a year's season on which flight was likely; none south of the rule's latitude.

    House rule put together from published triggers: days are short or a frost was, then a warm
    sunny day after cooler ones. A day whose clouds nobody read counts as sunny, so that the list
    is early rather than late.
    """
    if latitude < numbers.north_of:
        return []
    known = {one.day: one for one in readings}
    starts_on, ends_on = numbers.season(year)
    season = sorted(day for day in known if starts_on <= day <= ends_on)
    frosts = [day for day in season if known[day].low_c <= numbers.frost_c]
    return [
        day
        for day in season
        if _is_warm_again(day, known, numbers) and _is_armed(day, latitude, frosts, numbers)
    ]


def _is_armed(day: date, latitude: float, frosts: list[date], numbers: SeasonNumbers) -> bool:
    if frosts and frosts[0] <= day:
        return True
    return day_length(latitude, day) < numbers.short_day_hours


def _is_warm_again(day: date, known: Mapping[date, Reading], numbers: SeasonNumbers) -> bool:
    before = [known.get(day - timedelta(days=n)) for n in range(1, COOLER_DAYS + 1)]
    highs = [one.high_c for one in before if one is not None]
    if len(highs) < COOLER_DAYS:
        return False
    today = known[day]
    is_sunny = today.cloud_percent is None or today.cloud_percent < numbers.cloud_below
    cooler = today.high_c - sum(highs) / COOLER_DAYS
    # 4.0 of readings in tenths is 4, whatever binary makes of it
    return today.high_c >= numbers.warm_c and is_sunny and round(cooler, 6) >= numbers.cooler_by_c


def season_of(
    readings: Sequence[Reading], latitude: float | None, today: date, numbers: SeasonNumbers
) -> Season | None:
    """The season that runs on a day or comes next, with its books-by date; None in the south.

    The middle of the first flight days of the last five years that have one (of two middles the
    earlier), less the lead; without any the default day of 40 degrees north, moved by as many
    days as the days get short earlier or later here.
    """
    at = DEFAULT_LATITUDE if latitude is None else latitude
    if at < numbers.north_of:
        return None
    year = today.year if today <= numbers.season(today.year)[1] else today.year + 1
    starts_on, ends_on = numbers.season(year)
    lead = timedelta(days=numbers.lead_days)
    firsts = _first_offsets(readings, at, year, numbers)
    if firsts:
        flight_on = starts_on + timedelta(days=median_low(firsts))
        because = f"{len(firsts)} earlier autumn{'s' * (len(firsts) > 1)} read here"
        return Season(starts_on, flight_on - lead, flight_on, ends_on, because)
    books_by = numbers.default_book_by(year) + _shift(at, year, numbers)
    because = "no autumn was read here: the firm's default day"
    return Season(starts_on, books_by, books_by + lead, ends_on, because)


def _first_offsets(
    readings: Sequence[Reading], latitude: float, year: int, numbers: SeasonNumbers
) -> list[int]:
    """Days from the season's start to the first flight day, of each year that has one."""
    firsts = []
    for past in range(year - YEARS_BACK, year):
        days = flight_days(readings, latitude, past, numbers)
        firsts += [(days[0] - numbers.season(past)[0]).days] if days else []
    return firsts


def _shift(latitude: float, year: int, numbers: SeasonNumbers) -> timedelta:
    hours = numbers.short_day_hours
    here, there = (first_day_below(at, hours, year) for at in (latitude, DEFAULT_LATITUDE))
    return here - there if here and there else timedelta()


def asked_from(season: Season, lead_days: int) -> date:
    """From when a treatment before flight stands on the due list: in time to book it."""
    return min(season.books_by, season.flight_on - timedelta(days=lead_days))


def treat_before(expires_on: date, today: date, season: Season | None) -> date | None:
    """The last day to treat before flight; None where the season asks for nothing.

    That is: the window holds past the season, or flight has begun already.
    """
    if season is None or expires_on > season.ends_on or today >= season.flight_on:
        return None
    return season.flight_on - timedelta(days=1)


def before_flight_words(season: Season) -> str:
    """Why a treatment is brought forward."""
    return (
        f"treat before flight, expected from {short_day(season.flight_on)}: "
        f"book by {short_day(season.books_by)} (house rule, {season.because})"
    )


def withdrawn_words(numbers: SeasonNumbers) -> str:
    """Why a treatment became an inspection."""
    month, day = numbers.withdraw_from
    from_on = short_day(date(2000, month, day))
    return f"inspect and seal, do not treat: from {from_on} the insects are inside (house rule)"


def is_withdrawn(day: date, numbers: SeasonNumbers) -> bool:
    """Whether treating against autumn invaders is withdrawn on a day; inspection is left."""
    first, last, at = numbers.withdraw_from, numbers.withdraw_until, (day.month, day.day)
    return first <= at <= last if first <= last else at >= first or at <= last
