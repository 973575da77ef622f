"""What an emergency sheet says of products: aboard a vehicle, of one name, put down at a place."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.http import Http404

from accounts.rules.day_words import clock, short_day
from accounts.rules.phones import readable
from sites.rules.units import plain
from sites.selectors.properties import property_for
from treatments.models import LabelVersion
from treatments.reports.emergency_words import EmergencySheet, SheetProduct
from treatments.rules.products import SIGNAL_WORD_WORDS, FileKind, SignalWord
from treatments.selectors.label_pages import product_for
from treatments.selectors.labels import labels_in_force
from treatments.selectors.loads import loads_on_board
from treatments.selectors.lots_aboard import lots_aboard
from treatments.selectors.records import effective_records

if TYPE_CHECKING:
    from accounts.models import Branch, Person

AT_A_PLACE = timedelta(days=90)  # how far back a property's sheet looks (house rule)
DEMO_COMPANY = "99999-"
Found = dict[int, str]  # label by key, and why it is on the sheet


def sheet_of(
    branch: Branch, found: Mapping[int, str], *, about: str, now: datetime, none: str, demo: bool
) -> EmergencySheet:
    """The sheet over labels by key, products by name; three queries."""
    local = now.astimezone(ZoneInfo(branch.time_zone))
    town = f"{branch.city}, {branch.state} {branch.zip_code}".strip(", ")
    return EmergencySheet(
        firm=branch.name,
        address=", ".join(part for part in (branch.street, town) if part),
        phone=readable(branch.phone),
        after_hours=readable(branch.after_hours_phone),
        about=about,
        made=f"{short_day(local.date(), True)}, {clock(local)}",
        products=tuple(_products(found)),
        none=none,
        demo=demo,
    )


def _products(found: Mapping[int, str]) -> Iterable[SheetProduct]:
    labels = LabelVersion.objects.filter(pk__in=found).select_related("product")
    labels = labels.prefetch_related("product__ingredients__ingredient")
    attached = set(
        labels.filter(files__kind=FileKind.SAFETY_SHEET).order_by().values_list("pk", flat=True)
    )
    for label in labels.order_by("product__name", "-effective_on"):
        yield _product(label, found[label.pk], is_attached=label.pk in attached)


def _product(label: LabelVersion, where: str, *, is_attached: bool) -> SheetProduct:
    product = label.product
    parts = (
        f"{one.ingredient.common_name} {plain(one.percent_by_weight)} %"
        for one in product.ingredients.all()
    )
    return SheetProduct(
        name=product.name,
        registration_number=_number(product.registration_number),
        ingredients=", ".join(parts) or "not entered",
        signal_word=SIGNAL_WORD_WORDS[SignalWord(product.signal_word)],
        first_aid=label.first_aid,
        first_aid_page=label.pages.get("first_aid", ""),
        reentry=label.reentry_text,
        label_date=short_day(label.label_date, True),
        safety_sheet=_safety_sheet(label, is_attached),
        where=where,
        is_restricted=product.is_restricted_use,
    )


def _number(number: str) -> str:
    """The registration number; the company number 99999 is nobody's and marks a demonstration."""
    if not number:
        return "none (exempt)"
    return f"{number} (demonstration)" if number.startswith(DEMO_COMPANY) else number


def _safety_sheet(label: LabelVersion, is_attached: bool) -> str:
    day = label.safety_sheet_date
    said = f"of {short_day(day, True)}" if day else "date not entered"
    return f"{said}, {'attached to the label' if is_attached else 'not attached'}"


def aboard(person: Person) -> Found:
    """Labels of the lots on the technician's truck and of the tanks that are not empty."""
    found: dict[int, list[str]] = {}
    for lot in lots_aboard(person.pk):
        found.setdefault(lot.label_version_id, []).append(f"lot {lot.number}")
    for state in loads_on_board(person):
        if state.left_ul > 0:
            found.setdefault(state.load.label_version_id, []).append("a mixed tank")
    return {key: f"Aboard: {', '.join(dict.fromkeys(why))}" for key, why in found.items()}


def named(names: Iterable[str], on: date, why: str) -> Found:
    """The labels in force of products by name."""
    rows = labels_in_force(on).filter(product__name__in=list(names))
    return dict.fromkeys(rows.values_list("pk", flat=True), why)


def product_sheet(pk: int, person: Person, now: datetime, *, demo: bool) -> EmergencySheet:
    """The sheet of one product: the label in force, else the newest; Http404 for none at all."""
    today = now.astimezone(ZoneInfo(person.branch.time_zone)).date()
    product = product_for(pk)
    labels = LabelVersion.objects.filter(product=product, is_draft=False)
    label = labels_in_force(today).filter(product=product).first() or labels.first()
    if label is None:
        raise Http404("No label of this product is entered.")
    why = "Label in force" if label.effective_on <= today else "Label not begun yet"
    return sheet_of(
        person.branch, {label.pk: why}, about=label.product.name, now=now, none="", demo=demo
    )


def property_sheet(pk: int, person: Person, now: datetime, *, demo: bool) -> EmergencySheet:
    """The sheet of one property the person may see: what was put down there in 90 days."""
    place = property_for(person, pk)
    since = now.astimezone(ZoneInfo(place.branch.time_zone)).date() - AT_A_PLACE
    records = effective_records().filter(property_id=pk, applied_on__gte=since)
    found: Found = {}
    rows = records.exclude(label_version=None).order_by("applied_on", "pk")
    for label_id, day in rows.values_list("label_version_id", "applied_on"):
        found[label_id] = f"Put down {short_day(day, True)}"
    none = f"No product is recorded here in the last {AT_A_PLACE.days} days."
    return sheet_of(place.branch, found, about=place.address, now=now, none=none, demo=demo)
