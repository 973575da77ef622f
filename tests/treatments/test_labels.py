"""Labels: entered once, looked at by a second person, never changed after use."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from accounts.models import Branch, Person
from accounts.permissions import Role
from accounts.refusals import Refused
from tests.factories import make_label, make_person, make_pest, make_product
from tests.treatments.conftest import NOW, House
from tests.treatments.label_entries import label_of, register
from treatments.models import LabelLimit, LabelUse, LabelVersion, Product
from treatments.rules.label_entry import (
    NewIngredient,
    NewLabel,
    NewProtection,
)
from treatments.selectors.label_copies import direction_as_entered
from treatments.selectors.labels import directions_in_force
from treatments.services.label_rows import edit_direction
from treatments.services.label_verification import verify_label
from treatments.services.labels import (
    enter_label,
)
from treatments.services.recording import record_application

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
ON = date(2026, 11, 25)


def test_a_product_is_stored_with_its_number_in_one_spelling(manager: Person) -> None:
    product = register(manager)
    assert product.registration_number == "99999-101"
    ingredient = product.ingredients.get()
    assert (str(ingredient), ingredient.ingredient.irac_group) == ("demothrin 7.9 %", "3A")


@pytest.mark.parametrize(
    "changes",
    [
        {"registration_number": ""},
        {"registration_number": "99999-EGN"},
        {"registration_number": "twelve"},
        {"registration_kind": "exempt_25b"},
        {"registration_kind": "magic"},
        {"formulation": "magic"},
        {"signal_word": "beware"},
        {"name": "  "},
        {"ingredients": (NewIngredient("demothrin", Decimal("100.1")),)},
        {"ingredients": (NewIngredient("demothrin", Decimal("0")),)},
        {"ingredients": (NewIngredient("demothrin", Decimal(60)),) * 2},
        {"ingredients": tuple(NewIngredient(name, Decimal(60)) for name in ("one", "two"))},
    ],
)
def test_a_product_that_cannot_be_is_refused(manager: Person, changes: dict[str, Any]) -> None:
    with pytest.raises(Refused):
        register(manager, **changes)
    assert not Product.objects.exists()


def test_a_product_is_registered_once(manager: Person) -> None:
    register(manager)
    with pytest.raises(Refused, match="taken"):
        register(manager, name="demonstration a sc")


def test_a_label_is_entered_with_directions_and_limits(manager: Person) -> None:
    pest = make_pest("House ant")
    version = enter_label(label=label_of(register(manager), pest.pk), by=manager)
    use = version.uses.get()
    assert (use.title, use.places, use.residual_days) == (
        "Outside band",
        ["foundation_wall", "soil_band"],
        90,
    )
    assert list(use.pests.all()) == [pest]
    limits = {row.fact: row.label_use_id for row in version.limits.all()}
    assert limits == {"wind": None, "height_up": use.pk}


def changed(label: NewLabel, **fields: Any) -> NewLabel:
    """The label with its one direction changed."""
    return replace(label, directions=(replace(label.directions[0], **fields),))


def limited(label: NewLabel, **fields: Any) -> NewLabel:
    """The label with its first limit changed."""
    return replace(label, limits=(replace(label.limits[0], **fields),))


def protected(label: NewLabel, **fields: Any) -> NewLabel:
    """The label with one piece of protective equipment."""
    gloves = NewProtection("apply", "Gloves", "p. 2")
    return replace(label, protections=(replace(gloves, **fields),))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda label: replace(label, directions=()), "at least one direction"),
        (lambda label: replace(label, precautions=" "), "precautions is missing"),
        (lambda label: replace(label, product_id=99_999_999), "no such product"),
        (lambda label: changed(label, places=("moon",)), "There is no place 'moon'"),
        (lambda label: changed(label, places=()), "at least one place"),
        (lambda label: changed(label, methods=("magic",)), "There is no method"),
        (lambda label: changed(label, rate_unit="bucket"), "There is no unit"),
        (lambda label: changed(label, rate_max=Decimal(0)), "above zero"),
        (lambda label: changed(label, rate_min=Decimal(2)), "above the highest"),
        (lambda label: changed(label, residual_days=5000), "not on any label"),
        (lambda label: changed(label, min_interval_days=-1), "not on any label"),
        (lambda label: changed(label, page=""), "needs a title and the page"),
        (lambda label: changed(label, rate_min=Decimal(0)), "above zero"),
        (lambda label: changed(label, per_gallon=Decimal(-1)), "above zero"),
        (lambda label: changed(label, gallons_per_1000=Decimal(0)), "above zero; leave them"),
        (lambda label: changed(label, gallons_per_1000=None), "needs the gallons of finished"),
        (lambda label: changed(label, min_gallons_per_1000=Decimal(2)), "The least gallons"),
        (lambda label: changed(label, max_gallons_per_1000=Decimal("0.5")), "The least gallons"),
        (lambda label: changed(label, rate_basis="barrel"), "There is no basis"),
        (lambda label: changed(label, mix_basis="shaken"), "There is no way to mix"),
        (lambda label: changed(label, methods=()), "at least one method"),
        (lambda label: changed(label, uses_per_year=0), "uses a year are not on any label"),
        (lambda label: changed(label, rate_basis="percent", rate_max=Decimal(101)), "above 100"),
        (lambda label: changed(label, rate_basis="percent", rate_unit="oz_wt"), "by volume"),
        (lambda label: limited(label, fact="moon"), "There is no limit 'moon'"),
        (lambda label: limited(label, comparison="about"), "There is no comparison"),
        (lambda label: limited(label, severity="shout"), "There is no severity"),
        (lambda label: limited(label, limit=Decimal(-1)), "never below zero"),
        (lambda label: limited(label, page=" "), "needs the label's sentence and the page"),
        (lambda label: limited(label, unit="fl_oz"), "Only an amount of product in a year"),
        (lambda label: limited(label, fact="product_per_area_year"), "in which unit"),
        (
            lambda label: limited(
                label, fact="product_per_area_year", unit="fl_oz", limit=Decimal(0)
            ),
            "at most so much, above zero",
        ),
        (lambda label: protected(label, task="rest"), "There is no task 'rest'"),
        (lambda label: protected(label, page=""), "needs its name and its page"),
        (lambda label: replace(label, prohibited_methods=("magic",)), "There is no method"),
        (lambda label: replace(label, pages={"moon": "p. 1"}), "There is no fact 'moon'"),
        (lambda label: changed(label, title="Other"), "There is no direction 'Outside band'"),
        (lambda label: changed(label, pest_ids=(99_999_999,)), "does not exist"),
        (lambda label: replace(label, directions=label.directions * 2), "have one title"),
    ],
)
def test_a_label_that_cannot_be_is_refused_whole(
    manager: Person, change: Callable[[NewLabel], NewLabel], words: str
) -> None:
    label = label_of(register(manager), make_pest().pk)
    with pytest.raises(Refused, match=words):
        enter_label(label=change(label), by=manager)
    assert not LabelVersion.objects.exists()


def test_two_labels_never_begin_on_one_day(manager: Person) -> None:
    label = label_of(register(manager), make_pest().pk)
    enter_label(label=label, by=manager)
    with pytest.raises(Refused, match="has a label from that day"):
        enter_label(label=label, by=manager)


def test_only_a_second_person_verifies(manager: Person, branch_ohio: Branch) -> None:
    version = enter_label(label=label_of(register(manager), make_pest().pk), by=manager)
    with pytest.raises(Refused) as refused:
        verify_label(label_version_id=version.pk, by=manager, now=NOW)
    assert refused.value.code == "second_person"
    second = make_person([Role.MANAGER], branch_ohio, "Helen Sorrel")
    seen = verify_label(label_version_id=version.pk, by=second, now=NOW)
    assert (seen.verified_at, seen.created_by) == (NOW, second)


def test_who_holds_no_permission_enters_nothing(office: Person, technician: Person) -> None:
    for person in (office, technician):
        with pytest.raises(Refused) as refused:
            register(person)
        assert refused.value.code == "not_permitted"


def test_a_label_is_edited_until_it_is_used(manager: Person) -> None:
    version = enter_label(label=label_of(register(manager), make_pest().pk), by=manager)
    use = version.uses.get()
    direction = replace(direction_as_entered(use), residual_days=60)
    edit_direction(label_use_id=use.pk, direction=direction, today=ON, by=manager)
    assert LabelUse.objects.get(pk=use.pk).residual_days == 60
    with pytest.raises(Refused, match="not on any label"):
        edit_direction(
            label_use_id=use.pk,
            direction=replace(direction, residual_days=9999),
            today=ON,
            by=manager,
        )


def test_a_used_label_never_changes(house: House, manager: Person) -> None:
    record_application(application=house.application(), by=house.technician, now=NOW)
    with pytest.raises(Refused, match="was used and never changes"):
        edit_direction(
            label_use_id=house.use.pk,
            direction=direction_as_entered(house.use),
            today=ON,
            by=manager,
        )
    for rows in (LabelVersion.objects.all(), LabelUse.objects.all()):
        with pytest.raises(IntegrityError), transaction.atomic():
            rows.update(page="p. 9") if rows.model is LabelUse else rows.update(precautions="None")


def test_limits_of_a_used_label_never_change(house: House) -> None:
    LabelLimit.objects.create(
        label_version=house.use.label_version,
        fact="wind",
        comparison="at_most",
        limit=10,
        severity="refuse",
        sentence="Not in wind above 10 mph.",
        page="p. 6",
    )
    record_application(application=house.application(), by=house.technician, now=NOW)
    with pytest.raises(IntegrityError), transaction.atomic():
        LabelLimit.objects.update(limit=40)


def test_in_force_is_the_latest_label_that_has_begun() -> None:
    product = make_product()
    old = make_label(product, effective_on=date(2026, 1, 1))
    new = make_label(product, effective_on=date(2026, 11, 25))
    make_label(product, effective_on=date(2026, 12, 1))
    assert directions_in_force(date(2026, 11, 24)) == [old]
    assert directions_in_force(ON) == [new]
    assert directions_in_force(date(2025, 12, 31)) == []


def test_directions_take_a_fixed_number_of_queries(
    django_assert_num_queries: Callable[..., Any],
) -> None:
    for number in (3, 30):
        for _ in range(number):
            make_label()
        with django_assert_num_queries(7):
            for use in directions_in_force(ON):
                assert use.label_version.product.name
                assert list(use.pests.all())
                list(use.label_version.product.ingredients.all())
