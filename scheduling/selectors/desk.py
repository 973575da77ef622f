"""What was asked at the inspection desk, found in the books; and the notices beside records."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from accounts.refusals import Refused
from accounts.rules.day_words import clock, short_day
from accounts.selectors.customers import customers_named
from scheduling.models import Visit
from scheduling.rules.desk import Around, around, point_in
from scheduling.rules.travel import Point
from sites.selectors.properties import keys_of_customer, positions_of, properties_named
from treatments.rules.bundles import BundleScope
from treatments.rules.desk import DeskList, counted
from treatments.selectors.desk import Question, know_lot, properties_with_records
from treatments.selectors.desk_lists import counting
from treatments.selectors.loads import load_key

if TYPE_CHECKING:
    from accounts.models import Branch
    from sites.models import Property
    from treatments.selectors.desk_records import Histories

MOST_PLACES = 500
OFFERED = 8
REFS_A_READING = 500
NOBODY = "No property or customer of this branch fits. Write a part of the street or the name."


@dataclass(frozen=True)
class Found:
    """The properties that were meant, in words."""

    keys: tuple[int, ...]
    words: str
    notes: tuple[str, ...] = ()


def question_of(
    branch: Branch,
    asked: Mapping[str, Any],
    people: dict[int, str],
    today: date,
    first_day: date | None = None,
) -> Question:
    """The question from what a form took.

    Days left out reach from the first record, made on `first_day`, to today; a first day alone is
    that day. Refused, at
    its field: a place, customer or lot the branch does not know, or one that several fit.
    """
    since, until = _days(asked, today, first_day)
    hours = (asked["from_hour"], asked["to_hour"]) if asked.get("from_hour") else None
    scope = BundleScope(
        since=since,
        until=until,
        branch_id=branch.pk,
        person_id=asked.get("person"),
        product=asked.get("product") or "",
        lot=know_lot(branch.pk, asked["lot"]) if asked.get("lot") else "",
        hours=hours,
    )
    found = _meant(branch, asked, scope)
    scope = replace(scope, property_ids=found.keys) if found else scope
    return Question(scope, _words(scope, found, people), found.notes if found else ())


def _days(asked: Mapping[str, Any], today: date, first: date | None) -> tuple[date, date]:
    since, until = asked.get("since"), asked.get("until")
    if since and not until:
        return since, since
    until = until or today
    return since or min(first or until, until), until


def _words(scope: BundleScope, found: Found | None, people: dict[int, str]) -> str:
    first, last = (short_day(day, True) for day in (scope.since, scope.until))
    parts = [f"Records applied {first}" if first == last else f"Records applied {first} to {last}"]
    if scope.hours:
        parts.append("between {} and {}".format(*(clock(at) for at in scope.hours)))
    if scope.person_id:
        parts.append(f"by {people[scope.person_id]}")
    parts += [found.words] if found else []
    parts += [f"product {scope.product}"] if scope.product else []
    parts += [f"lot {scope.lot}"] if scope.lot else []
    return f"{', '.join(parts)}."


def _meant(branch: Branch, asked: Mapping[str, Any], scope: BundleScope) -> Found | None:
    """The properties of a name and around an address; of both those that are in both."""
    named = _named(branch, asked["place"]) if asked.get("place") else None
    if not asked.get("near"):
        return named
    near = _near(branch, asked["near"], asked["miles"], scope)
    if named is None:
        return near
    both = tuple(key for key in named.keys if key in set(near.keys))
    return Found(both, f"{named.words}, {near.words}", near.notes)


def _named(branch: Branch, text: str) -> Found:
    found = [*_properties(branch, text), *_customers(branch, text)]
    if not found:
        raise Refused("desk", NOBODY, field="place")
    return _only(found, text, "place")


def _only(found: list[Found], text: str, field: str) -> Found:
    """The one that fits; of several the one that is written in full."""
    whole = [one for one in found if one.words.casefold() == f"at {text}".casefold().strip()]
    if len(found) == 1 or len(whole) == 1:
        return (whole or found)[0]
    named = "; ".join(one.words.removeprefix("at ") for one in found[:OFFERED])
    raise Refused("desk", f"Several fit: {named}. Write one of them in full.", field=field)


def _properties(branch: Branch, text: str) -> list[Found]:
    places = properties_named(branch.pk, text)
    return [Found((place.pk,), f"at {place.address}") for place in places]


def _customers(branch: Branch, text: str) -> list[Found]:
    return [
        Found(tuple(keys_of_customer(branch.pk, one.pk)), f"at {one.name}")
        for one in customers_named(branch.pk, text)
    ]


def _near(branch: Branch, text: str, miles: Decimal, scope: BundleScope) -> Found:
    center, words = _center(branch, text)
    positions = positions_of(branch.pk)
    found = around(center, miles, [(pk, _point(lat, lon)) for pk, lat, lon in positions])
    if len(found.inside) > MOST_PLACES:
        raise Refused(
            "desk",
            f"{len(found.inside):,} properties lie within {miles.normalize():f} miles. Choose a "
            "shorter distance.",
            field="miles",
        )
    said = f"within {miles.normalize():f} mi of {words}"
    return Found(found.inside, said, _not_looked_at(branch, found, scope))


def _center(branch: Branch, text: str) -> tuple[Point, str]:
    try:
        point = point_in(text)
    except ValueError as failure:
        raise Refused("desk", str(failure), field="near") from failure
    if point is not None:
        return point, text
    return _of_property(branch, text)


def _of_property(branch: Branch, text: str) -> tuple[Point, str]:
    places = {place.pk: place for place in properties_named(branch.pk, text)}
    if not places:
        raise Refused(
            "desk",
            "No property of this branch has this address. Write a position instead, like "
            "40.0123, -82.9001.",
            field="near",
        )
    found = _only([Found((pk,), f"at {one.address}") for pk, one in places.items()], text, "near")
    place = places[found.keys[0]]
    point = _point(place.latitude, place.longitude)
    if point is None:
        raise Refused("desk", _without_position(place), field="near")
    return point, place.address


def _without_position(place: Property) -> str:
    return f"The position of {place.address} is not known. Write one, like 40.0123, -82.9001."


def _point(latitude: Any, longitude: Any) -> Point | None:
    if latitude is None or longitude is None:
        return None
    return Point(float(latitude), float(longitude))


def _not_looked_at(branch: Branch, found: Around, scope: BundleScope) -> tuple[str, ...]:
    """How many properties with work in those days have no position and may lie inside."""
    treated = properties_with_records(branch.pk, scope) if found.unknown else set()
    count = len(treated & set(found.unknown))
    if not count:
        return ()
    have = "has" if count == 1 else "have"
    return (
        f"{counted(count, 'property', 'properties')} with records in these days {have} no "
        "position and may lie inside: not looked at.",
    )


@dataclass(frozen=True)
class NoticeLine:
    """The notice of one visit, to be drawn when it is asked for."""

    visit_id: int
    words: str


def notices_of(histories: Histories) -> tuple[DeskList, tuple[NoticeLine, ...]]:
    """The notices of the visits that the records were made on."""
    records = counting(histories)
    named = Counter(record.visit_ref for record in records if record.visit_ref)
    visits = _visits(named)
    known = {str(visit.ref) for visit in visits}
    bare = sum(record.visit_ref not in known for record in records)
    return DeskList(
        "notices",
        "Notices to the customer",
        counted(len(visits), "visit"),
        ("Visit", "Day", "Kind", "Property", "Technician", "Records on its notice"),
        tuple(_notice_row(visit, named[str(visit.ref)]) for visit in visits),
        tuple(_no_notice(bare, len(visits))),
    ), tuple(NoticeLine(visit.pk, f"Notice of {visit}") for visit in visits)


def _visits(refs: Iterable[str]) -> list[Visit]:
    """The visits that references name, the last first; a reference may be any text."""
    keys = [key for ref in refs if (key := load_key(ref))]
    found: list[Visit] = []
    for number in range(0, len(keys), REFS_A_READING):
        rows = Visit.objects.filter(ref__in=keys[number : number + REFS_A_READING])
        found += rows.select_related("property", "technician")
    return sorted(found, key=lambda visit: (visit.day, visit.pk), reverse=True)


def _no_notice(bare: int, visits: int) -> list[str]:
    said = [f"{counted(bare, 'record')} of no visit: no notice."] if bare else []
    return said + (["Who got a copy, and what is known of it, is another list."] if visits else [])


def _notice_row(visit: Visit, records: int) -> tuple[str, ...]:
    return (
        str(visit.pk),
        short_day(visit.day, True),
        visit.get_kind_display(),
        str(visit.property),
        visit.technician.full_name,
        str(records),
    )


def visit_at(branch: Branch, pk: int) -> Visit | None:
    """A visit with records of a branch, for its notice."""
    rows = Visit.objects.filter(applications__record__branch=branch, pk=pk)
    return rows.select_related("property").distinct().first()
