"""The numbers and readings a season is worked out from, read once for many properties."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING

from scheduling.models import SeasonRule, TemperatureReading
from scheduling.rules.renewals import LEAD_DAYS, WindowFacts
from scheduling.rules.season import (
    YEARS_BACK,
    Reading,
    Season,
    asked_from,
    before_flight_words,
    is_withdrawn,
    season_of,
    treat_before,
    withdrawn_words,
)
from scheduling.rules.season_settings import SeasonNumbers, SettingRow, numbers_on
from sites.rules.places import PestGroup

if TYPE_CHECKING:
    from sites.models import Property


@dataclass(frozen=True)
class SeasonBook:
    """What seasons are worked out from on one day; one is worked out once a half degree."""

    today: date
    numbers: SeasonNumbers
    readings: Mapping[int, Sequence[Reading]]
    _known: dict[tuple[int, float | None], Season | None] = field(default_factory=dict)

    def season_at(self, place: Property) -> Season | None:
        """The season of a property that runs or comes next; by its branch's readings."""
        at = None if place.latitude is None else round(float(place.latitude) * 2) / 2
        key = (place.branch_id, at)
        if key not in self._known:
            read = self.readings.get(place.branch_id, ())
            self._known[key] = season_of(read, at, self.today, self.numbers)
        return self._known[key]

    def with_season(self, facts: WindowFacts, place: Property) -> WindowFacts:
        """A window with what the season asks for; others than of autumn invaders stay."""
        if facts.pest_group != PestGroup.OVERWINTERING:
            return facts
        season = self.season_at(place)
        treat_by = treat_before(facts.expires_on, self.today, season)
        if season is not None and treat_by is not None:
            asked = asked_from(season, LEAD_DAYS)
            if self.today >= asked:
                words = before_flight_words(season)
                return replace(facts, treat_by=treat_by, asked_from=asked, season_words=words)
        # the flight of next autumn asks for nothing yet; this one may be over
        if self.is_withdrawn_for(facts):
            return replace(facts, season_words=withdrawn_words(self.numbers), uses=None)
        return facts

    def is_withdrawn_for(self, facts: WindowFacts) -> bool:
        """Whether a treatment against autumn invaders, due when its window lapses, is withdrawn."""
        if facts.pest_group != PestGroup.OVERWINTERING:
            return False
        return is_withdrawn(max(self.today, facts.opens_on), self.numbers)


def setting_rows() -> list[SettingRow]:
    """Every value a manager ever entered."""
    return [one.row for one in SeasonRule.objects.order_by("pk")]


def season_book(today: date) -> SeasonBook:
    """Read what seasons are worked out from; two queries."""
    rows = TemperatureReading.objects.filter(day__gte=date(today.year - YEARS_BACK, 1, 1))
    found: dict[int, list[Reading]] = defaultdict(list)
    for one in rows.order_by("branch_id", "day"):
        found[one.branch_id].append(one.reading)
    return SeasonBook(today, numbers_on(setting_rows(), today), found)
