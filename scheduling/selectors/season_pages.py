"""The season's pages: whom to treat before flight, the numbers, and the weather that was read."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from django.http import Http404

from accounts.selectors.people import branches_for
from scheduling.models import Renewal, SeasonRule, TemperatureReading, Visit
from scheduling.rules.day_words import full_day
from scheduling.rules.season import Season, degree_days_since, is_withdrawn
from scheduling.rules.season_settings import BY_CODE, SETTINGS, Setting, rows_in_force
from scheduling.selectors.season_book import SeasonBook, season_book, setting_rows
from sites.rules.places import PestGroup
from sites.selectors.invaders import invaders_seen, places_with_sun
from treatments.selectors.windows import last_windows_against

if TYPE_CHECKING:
    from accounts.models import Branch, Person
    from sites.models import Property

BEETLE_PEAK_F = 700  # UC IPM, elm leaf beetle: most first and second instars, treat the trees
FAHRENHEIT_STEP = 1.8


@dataclass(frozen=True)
class SeasonRow:
    """One property of the list; `shape` is that of its word: ok, book, check or late."""

    place: Property
    books_by: date
    flight_on: date
    because: str
    reasons: Sequence[str]
    word: str
    shape: str
    renewal_id: int | None


@dataclass(frozen=True)
class BranchSeason:
    """What was read for a branch: its last day, degree days (F) this year and days missing."""

    branch: Branch
    last_read: date | None
    degree_days_f: int
    missing: int

    @property
    def is_past_peak(self) -> bool:
        return self.degree_days_f >= BEETLE_PEAK_F


@dataclass(frozen=True)
class SettingLine:
    """One number in force, with where it is from and what comes."""

    setting: Setting
    value: str
    since: date | None
    basis: str
    coming: Sequence[SeasonRule]

    @property
    def is_published(self) -> bool:
        return bool(self.basis)


@dataclass(frozen=True)
class SeasonPage:
    """Everything the list shows."""

    rows: Sequence[SeasonRow]
    branches: Sequence[BranchSeason]
    is_withdrawn: bool
    to_treat: int


def season_page(person: Person, today: date) -> SeasonPage:
    """The properties with autumn invaders before, in the order of their books-by day."""
    branches = list(branches_for(person))
    ids = [one.pk for one in branches]
    book = season_book(today)
    held = last_windows_against(PestGroup.OVERWINTERING, ids)
    seen = invaders_seen(ids)
    places = places_with_sun({*held, *seen})
    booked, waiting = _booked(places, today), _waiting(places)
    rows = []
    for pk, place in places.items():
        season = book.season_at(place)
        if season is not None:
            why = _reasons(place, held.get(pk), seen.get(pk))
            word, shape = _standing(held.get(pk), booked.get(pk), season, today, book)
            days = (season.books_by, season.flight_on, season.because)
            rows.append(SeasonRow(place, *days, why, word, shape, waiting.get(pk)))
    rows.sort(key=lambda row: (row.shape in ("ok", "book"), row.books_by, row.place.street))
    return SeasonPage(
        rows=rows,
        branches=[_branch(one, book) for one in branches],
        is_withdrawn=is_withdrawn(today, book.numbers),
        to_treat=sum(row.shape in ("check", "late", "open") for row in rows),
    )


def _reasons(place: Any, held: tuple[date, date] | None, seen: tuple[str, Any] | None) -> list[str]:
    why = []
    if held:
        why.append(f"treated against them {full_day(held[0])}")
    if seen:
        why.append(f"{seen[0]} found {full_day(seen[1].date())}")
    if place.sunny:
        why.append(f"{place.sunny} zone{'s' * (place.sunny > 1)} in full sun")
    return why


def _standing(
    held: tuple[date, date] | None,
    booked: date | None,
    season: Season,
    today: date,
    book: SeasonBook,
) -> tuple[str, str]:
    """What is to be done, in words with the shape of their mark."""
    if held and held[1] > season.ends_on:
        return f"Holds until {full_day(held[1])}", "ok"
    if booked is not None and booked < season.flight_on:
        return f"Booked {full_day(booked)}", "book"
    if today >= season.flight_on:
        if is_withdrawn(today, book.numbers):
            return "Inspect and seal, do not treat", "open"
        return "Flight has begun: inspect first", "late"
    if today > season.books_by:
        return f"Late: treat before {full_day(season.flight_on)}", "late"
    return f"Treat before {full_day(season.flight_on)}", "check"


def _booked(places: Collection[int], today: date) -> dict[int, date]:
    """The first treating visit to come at each property."""
    rows = Visit.objects.open().filter(property__in=places, day__gte=today)
    rows = rows.exclude(kind__in=("inspection", "exclusion", "monitoring"))
    found: dict[int, date] = {}
    for place_id, day in rows.order_by("day").values_list("property_id", "day"):
        found.setdefault(place_id, day)
    return found


def _waiting(places: Collection[int]) -> dict[int, int]:
    rows = Renewal.objects.waiting().filter(property__in=places).order_by("-due_on")
    return dict(rows.values_list("property_id", "pk"))


def _branch(branch: Branch, book: SeasonBook) -> BranchSeason:
    readings = book.readings.get(branch.pk, ())
    numbers, today = book.numbers, book.today
    start = numbers.degree_days_from(today.year)
    total, missing = degree_days_since(readings, start, today, numbers.dd_threshold_c)
    last = max((one.day for one in readings), default=None)
    return BranchSeason(branch, last, int(total * FAHRENHEIT_STEP), missing)


def setting_lines(today: date) -> list[SettingLine]:
    """Every number with its value of today and the rows that come; one query."""
    rows = list(SeasonRule.objects.order_by("from_on", "pk"))
    held = rows_in_force((one.row for one in rows), today)
    return [_line(one, held, rows, today) for one in SETTINGS]


def _line(
    setting: Setting, held: Mapping[str, Any], rows: Sequence[SeasonRule], today: date
) -> SettingLine:
    row = held.get(setting.code)
    return SettingLine(
        setting,
        row.value if row else setting.first,
        row.from_on if row else None,
        row.source if row else setting.source,
        [one for one in rows if one.code == setting.code and one.from_on > today],
    )


def setting_for(code: str, today: date) -> tuple[Setting, str]:
    """One number and its value of today; otherwise Http404."""
    if code not in BY_CODE:
        raise Http404("No such number.")
    held = rows_in_force(setting_rows(), today)
    return BY_CODE[code], held[code].value if code in held else BY_CODE[code].first


def readings_for(person: Person) -> Any:
    """The weather read for the person's branches, the newest first."""
    rows = TemperatureReading.objects.filter(branch__in=branches_for(person))
    return rows.select_related("branch").order_by("-day", "branch__name")
