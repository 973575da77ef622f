"""The invented firm before its first day: branches, people, hours, pests, products, labels."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from accounts.services.branches import open_branch
from accounts.services.licenses import add_license
from accounts.services.people import invite_person
from accounts.services.respirators import add_respirator_paper
from scheduling.rules.demo import products as shelf
from scheduling.rules.demo.labels import IRAC_SCHEMES, PROTECTIONS, DemoProduct
from scheduling.rules.demo.people import BRANCHES, PASSWORD, PEOPLE, RESPIRATORS, DemoPerson
from scheduling.rules.demo.products import (
    BEING_ENTERED,
    PESTS,
    PRODUCTS,
    decimal_or_none,
)
from scheduling.services.shifts import set_shift
from sites.services.pests import register_pest
from treatments.reports.label_sheet import draw_demonstration_label
from treatments.rules.label_entry import (
    NewDirection,
    NewIngredient,
    NewLabel,
    NewLimit,
    NewProtection,
)
from treatments.rules.products import FileKind
from treatments.rules.protective_equipment import respirators_in
from treatments.services.label_files import attach_file
from treatments.services.label_verification import verify_label
from treatments.services.labels import enter_label
from treatments.services.products import register_product

if TYPE_CHECKING:
    from accounts.models import Branch, Person

EVERY_DAY, WORKING_DAYS = range(7), range(5)
LABEL_AGE = timedelta(days=600)
LICENSE_AGE = timedelta(days=700)
FITTED_FOR, CARTRIDGE_FOR = timedelta(days=240), timedelta(days=25)


@dataclass(frozen=True)
class Firm:
    """The people of the firm by e-mail and its branches by name."""

    branches: dict[str, Branch]
    people: dict[str, Person]

    @property
    def manager(self) -> Person:
        return self.people["manager@demo.example"]

    @property
    def office(self) -> Person:
        return self.people["office@demo.example"]

    @property
    def technicians(self) -> tuple[Person, ...]:
        return tuple(
            person for email, person in self.people.items() if email.startswith("technician")
        )


def make_firm(*, today: date, now: datetime) -> Firm:
    """Open the branches, invite the people, give them licenses and hours, enter the labels."""
    branches = {one.name: _branch(one.name) for one in BRANCHES}
    people = {one.email: _person(one, branches) for one in PEOPLE}
    firm = Firm(branches, people)
    for one in PEOPLE:
        _licenses(one, firm, today)
        _hours(one, firm, now)
        _respirators(one, firm, today)
    pest_ids = _pests(firm)
    for product in PRODUCTS:
        _product(product, firm, pest_ids, today, now)
    _being_entered(firm, pest_ids, today)
    return firm


def _branch(name: str) -> Branch:
    one = next(branch for branch in BRANCHES if branch.name == name)
    return open_branch(
        name=one.name,
        state=one.state,
        by=None,
        business_license_number=one.license_number,
        street="1 Depot Street",
        city=one.city,
        zip_code=one.zip_code,
        phone=one.phone,
        after_hours_phone=one.after_hours_phone,
        latitude=Decimal(one.latitude),
        longitude=Decimal(one.longitude),
    )


def _person(one: DemoPerson, branches: dict[str, Branch]) -> Person:
    return invite_person(
        email=one.email,
        full_name=one.full_name,
        roles=set(one.roles),
        branch_id=branches[one.branch].pk,
        by=None,
        password=PASSWORD,
    ).person


def _licenses(one: DemoPerson, firm: Firm, today: date) -> None:
    supervisor = firm.people.get(one.supervisor)
    for state in one.states:
        add_license(
            person_id=firm.people[one.email].pk,
            kind=one.license_kind,
            number=one.license_number.partition("-")[2],
            state=state,
            categories="Structural pest (demonstration)",
            issued_on=today - LICENSE_AGE,
            expires_on=today + timedelta(days=one.expires_in),
            supervisor_id=supervisor.pk if supervisor else None,
            by=firm.manager,
        )


def _respirators(one: DemoPerson, firm: Firm, today: date) -> None:
    """One technician of each branch is fitted, the other one is not."""
    for kind, respirator in RESPIRATORS if one.is_fitted else ():
        add_respirator_paper(
            person_id=firm.people[one.email].pk,
            kind=kind,
            respirator=respirator,
            medical_until=today + FITTED_FOR,
            fit_test_until=today + FITTED_FOR,
            cartridge_until=today + CARTRIDGE_FOR,
            by=firm.manager,
        )


def _hours(one: DemoPerson, firm: Firm, now: datetime) -> None:
    """The first technician of each branch works every day, so that every day has a route."""
    if not one.email.startswith("technician"):
        return
    is_first = one.email in ("technician@demo.example", "technician3@demo.example")
    for weekday in EVERY_DAY if is_first else WORKING_DAYS:
        set_shift(
            technician_id=firm.people[one.email].pk,
            weekday=weekday,
            starts=time(8),
            ends=time(17),
            lunch_from=time(11, 30),
            lunch_until=time(13, 30),
            lunch_minutes=30,
            by=firm.manager,
            now=now,
        )


def _pests(firm: Firm) -> dict[str, int]:
    return {
        pest.common_name: register_pest(
            common_name=pest.common_name,
            scientific_name=pest.scientific_name,
            group=pest.group,
            by=firm.manager,
        ).pk
        for pest in PESTS
    }


def _product(
    one: DemoProduct, firm: Firm, pest_ids: dict[str, int], today: date, now: datetime
) -> None:
    """Register a product and enter its label; a second person verifies it."""
    product_id = _registered(one)
    label = enter_label(label=_label(one, product_id, pest_ids, today), by=None)
    attach_file(
        label_version_id=label.pk, kind=FileKind.LABEL, upload=_sheet(one), by=None, today=today
    )
    verify_label(label_version_id=label.pk, by=firm.manager, now=now)


def _being_entered(firm: Firm, pest_ids: dict[str, int], today: date) -> None:
    """A product whose label the manager is typing in: nobody uses it yet, and it still changes."""
    product_id = _registered(BEING_ENTERED)
    label = replace(
        _label(BEING_ENTERED, product_id, pest_ids, today),
        label_date=today,
        effective_on=today + timedelta(days=30),
        pages={},
    )
    enter_label(label=label, by=firm.manager, is_draft=True)


def _registered(one: DemoProduct) -> int:
    product = register_product(
        name=one.name,
        registration_kind=one.kind,
        registration_number=one.number,
        formulation=one.formulation,
        signal_word=one.signal_word,
        is_restricted_use=one.is_restricted_use,
        ingredients=(
            NewIngredient(
                one.ingredient,
                Decimal(one.percent),
                decimal_or_none(one.pounds_per_gallon),
                one.irac_group,
                IRAC_SCHEMES.get(one.irac_group, ""),
            ),
        ),
        by=None,
    )
    return int(product.pk)


@dataclass
class Sheet:
    """A drawn label, handed over like an uploaded file; `size` in bytes."""

    name: str | None
    size: int | None
    content: bytes

    def read(self) -> bytes:
        return self.content


def _sheet(one: DemoProduct) -> Sheet:
    lines = [f"{row.title}, {row.page}" for row in one.directions]
    drawn = draw_demonstration_label(f"{one.name}, {one.number}", lines)
    return Sheet(f"{one.number}.pdf", len(drawn), drawn)


def _label(one: DemoProduct, product_id: int, pest_ids: dict[str, int], today: date) -> NewLabel:
    return NewLabel(
        product_id=product_id,
        label_date=today - LABEL_AGE,
        effective_on=today - LABEL_AGE,
        protective_equipment=shelf.PROTECTIVE_EQUIPMENT,
        reentry_text=shelf.REENTRY,
        precautions=shelf.PRECAUTIONS,
        first_aid=shelf.FIRST_AID,
        safety_sheet_date=today - LABEL_AGE,
        pages=shelf.PAGES,
        protections=tuple(
            NewProtection(*row, respirators=respirators_in(row[1]))
            for row in (*PROTECTIONS, *one.protections)
        ),
        only_listed_uses=one.only_listed_uses,
        directions=tuple(
            NewDirection(
                title=row.title,
                places=tuple(row.places),
                methods=tuple(row.methods),
                pest_ids=tuple(pest_ids[name] for name in row.pests),
                rate_max=Decimal(row.rate_max),
                rate_unit=row.rate_unit,
                rate_basis=row.basis,
                page=row.page,
                rate_min=decimal_or_none(row.rate_min),
                per_gallon=decimal_or_none(row.per_gallon),
                gallons_per_1000=decimal_or_none(row.gallons_per_1000),
                residual_days=row.residual_days,
                min_interval_days=row.min_interval_days,
                uses_per_year=row.uses_per_year,
            )
            for row in one.directions
        ),
        limits=tuple(
            NewLimit(
                fact=row.fact,
                comparison=row.comparison,
                limit=Decimal(row.limit),
                severity=row.severity,
                sentence=row.sentence,
                page=row.page,
                named=row.named,
                direction=row.direction,
            )
            for row in one.limits
        ),
    )
