"""What an entry says and what a request wants changed, in words, old and new side by side."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from accounts.rules.day_words import short_day
from accounts.selectors.people import people_for
from sites.rules.units import unit_word
from sites.selectors.properties import zones_by_ids
from treatments.models import LabelUse
from treatments.rules.corrections import Change, Value
from treatments.rules.products import METHOD_WORDS, Method


@dataclass(frozen=True)
class ChangeWords:
    """One changed field: its name, what it said, what it says."""

    field: str
    old: str
    new: str


@dataclass(frozen=True)
class Names:
    """Names of what changes point at, by key, and the branch's time zone."""

    people: dict[int, str]
    directions: dict[int, str]
    zones: dict[str, str]
    zone: ZoneInfo


def words_of(changes: Sequence[Change], time_zone: str) -> tuple[ChangeWords, ...]:
    """Changes in words; at most three queries, none where nothing points at a row."""
    names = _names(changes, time_zone)
    return tuple(
        ChangeWords(one.words, _value(one.field, one.old, names), _value(one.field, one.new, names))
        for one in changes
    )


def _names(changes: Iterable[Change], time_zone: str) -> Names:
    said = [(one.field, value) for one in changes for value in (one.old, one.new)]
    keys = {
        name: [value for field, value in said if field == name and isinstance(value, int)]
        for name in ("applicator", "direction")
    }
    zones = [
        key
        for field, value in said
        if field == "zones" and isinstance(value, dict)
        for key in value
    ]
    people = people_for(None).filter(pk__in=keys["applicator"]) if keys["applicator"] else ()
    uses = LabelUse.objects.select_related("label_version__product")
    directions = uses.filter(pk__in=keys["direction"]) if keys["direction"] else ()
    return Names(
        people={one.pk: one.full_name for one in people},
        directions={one.pk: direction_words(one) for one in directions},
        zones={str(one.pk): one.name for one in zones_by_ids([int(key) for key in zones])}
        if zones
        else {},
        zone=ZoneInfo(time_zone),
    )


def direction_words(use: LabelUse) -> str:
    """Demonstration A SC: outside perimeter band, label of Jan 1, 2026."""
    label = use.label_version
    return f"{label.product}: {use.title}, label of {short_day(label.label_date, True)}"


def _value(field: str, value: Value, names: Names) -> str:
    if value is None or value in ("", [], {}):
        return "nothing"
    if isinstance(value, bool):
        return "confirmed" if value else "not confirmed"
    if isinstance(value, int):
        known = names.people if field == "applicator" else names.directions
        return known.get(value, "not known any more")
    if isinstance(value, dict):
        return "; ".join(
            f"{names.zones.get(key, key)} {_amount(one)}" for key, one in value.items()
        )
    return ", ".join(value) if isinstance(value, list) else _text(field, value, names)


def _text(field: str, value: str, names: Names) -> str:
    if field in ("started_at", "finished_at"):
        at = datetime.fromisoformat(value).astimezone(names.zone)
        return f"{short_day(at.date(), True)}, {at:%-I:%M %p}"
    if field in ("product_amount", "finished_amount"):
        return _amount(value)
    if field == "method":
        return METHOD_WORDS[Method(value)] if value in list(Method) else value
    return value + {"wind_mph": " mph", "temperature_f": " °F"}.get(field, "")


def _amount(value: str) -> str:
    text, _, unit = value.rpartition(" ")
    return f"{text} {unit_word(unit)}" if text else value
