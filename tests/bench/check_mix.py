"""Check plus mix for 12 zones against 40 directions and five years of history."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db import connection
from django.test.utils import CaptureQueriesContext

from accounts.models import Person
from sites.models import Property, TreatableZone
from tests.bench.floors.check_mix import Answer, floor
from tests.bench.timing import Compared, compare
from tests.factories import (
    TODAY,
    make_branch,
    make_customer,
    make_label,
    make_license,
    make_person,
    make_pest,
    make_product,
    make_property,
    make_record,
    make_zone,
)
from treatments.models import (
    ActiveIngredient,
    LabelLimit,
    LabelUse,
    ProductIngredient,
    TreatedArea,
)
from treatments.selectors.checks import Preview, preview

LAST_USED = TODAY - timedelta(days=60)
SINCE = re.compile(r"^(.+): (\d+) days since the last use")
NUMBER = re.compile(r"^(.+): use (\d+) of \d+ this year")
PER_ACRE = re.compile(r"([\d.]+) lb ")


@dataclass(frozen=True)
class Field:
    """One house with its zones, the label they are treated by, and who treats them."""

    place: Property
    zones: tuple[TreatableZone, ...]
    use: LabelUse
    technician: Person


def field(*, zones: int, directions: int, years: int) -> Field:
    """Build a house with `zones`, a label with `directions` and four uses in each of `years`."""
    branch = make_branch()
    technician = make_person(branch=branch)
    make_license(technician)
    place = make_property(make_customer(branch))
    bands = tuple(make_zone(place, f"Band {number:02}") for number in range(zones))
    use = _label(directions)
    for number in range(4 * years):
        _record(bands, technician, use, LAST_USED - timedelta(days=91 * number))
    return Field(place, bands, use, technician)


def _label(directions: int) -> LabelUse:
    product = make_product()
    ProductIngredient.objects.create(
        product=product,
        ingredient=ActiveIngredient.objects.create(common_name=f"demothrin {product.pk}"),
        percent_by_weight=Decimal("7.9"),
        pounds_per_gallon=Decimal("0.666667"),
    )
    pests = [make_pest() for _ in range(8)]
    use = make_label(product, pests=pests, use={"uses_per_year": 6})
    for number in range(1, directions):
        other = LabelUse.objects.get(pk=use.pk)
        other.pk, other.title = None, f"Direction {number}"
        other.save(force_insert=True)
        other.pests.set(pests)
    LabelLimit.objects.create(
        label_version=use.label_version,
        fact="ingredient_per_acre_year",
        comparison="at_most",
        limit=Decimal(2),
        severity="refuse",
        sentence="No more than 2 lb of active ingredient per acre in a year.",
        page="p. 5",
    )
    return use


def _record(zones: tuple[TreatableZone, ...], technician: Person, use: LabelUse, on: date) -> None:
    """One record of all zones, as one application leaves it."""
    area = sum(zone.area_mm2 for zone in zones)
    amount = {"product_amount": "4.8", "product_ul": 141_953, "area_mm2": area}
    record = make_record(zones[0], technician, use, applied_on=on, **amount)
    TreatedArea.objects.bulk_create(
        TreatedArea(
            record=record, zone=zone, zone_name=zone.name, place=zone.place,
            size="600", size_unit="ft2", area_mm2=zone.area_mm2,
        )
        for zone in zones[1:]
    )  # fmt: skip


def asked(house: Field) -> Preview:
    """The answer of the phone's mix page."""
    return preview(
        person=house.technician,
        property_id=house.place.pk,
        zone_ids=[zone.pk for zone in house.zones],
        label_use_id=house.use.pk,
        method="perimeter_band",
        pest_ids=[pest.pk for pest in house.use.pests.all()[:2]],
        tank_gal=Decimal(4),
        on=TODAY,
    )


def said(answer: Preview) -> Answer:
    """What the preview says, as numbers: read from the sentences that people see."""
    sentences = [one.sentence for one in answer.judgements]
    since = {m[1]: int(m[2]) for text in sentences if (m := SINCE.search(text))}
    numbers = {m[1]: int(m[2]) for text in sentences if (m := NUMBER.search(text))}
    ingredient = next(one.sentence for one in answer.judgements if one.code == "ingredient")
    per_acre = PER_ACRE.search(ingredient)
    assert answer.product and answer.finished and per_acre
    return Answer(
        is_allowed=answer.is_allowed,
        product_fl_oz=answer.product.value,
        finished_gal=answer.finished.value,
        days_since=since,
        number_of_use=numbers,
        lb_per_acre=Decimal(per_acre[1]),
    )


def bare(house: Field) -> Answer:
    """The same numbers by plain SQL."""
    return floor([zone.pk for zone in house.zones], house.use.pk, house.technician.pk, TODAY)


def queries(answer: Callable[[], object]) -> int:
    """How many statements an answer takes."""
    with CaptureQueriesContext(connection) as seen:
        answer()
    return len(seen)


def run(*, times: int) -> Iterator[Compared | str]:
    """Compare check plus mix with plain SQL and plain arithmetic for the same numbers."""
    house = field(zones=12, directions=40, years=5)

    def ours() -> Answer:
        return said(asked(house))

    def plain() -> Answer:
        return bare(house)

    yield compare("check and mix, 12 zones, 40 directions, 5 years", ours, plain, times=times)
    yield f"queries: {queries(ours)}, floor {queries(plain)}"
