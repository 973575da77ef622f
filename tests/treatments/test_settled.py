"""What a process keeps is what the database refuses to change; all else is read every time."""

from __future__ import annotations

import multiprocessing
from datetime import UTC, date, datetime

import pytest
from django.core.cache import caches
from django.db import DatabaseError, connection, connections, transaction
from django.test.utils import CaptureQueriesContext

from tests.factories import (
    make_branch,
    make_customer,
    make_label,
    make_person,
    make_pest,
    make_property,
    make_record,
    make_zone,
)
from treatments.models import (
    ActiveIngredient,
    ApplicationRecord,
    JurisdictionProfile,
    LabelUse,
    LabelVerification,
    LabelWithdrawal,
    ProductIngredient,
    ProfileVerification,
)
from treatments.selectors.label_facts import label_facts
from treatments.selectors.profiles import profiles_of
from treatments.selectors.settled import used_direction
from treatments.selectors.whole import direction_named
from treatments.services.profiles import load_profiles, mark_used

AT = datetime(2026, 3, 1, tzinfo=UTC)
pytestmark = [pytest.mark.engine, pytest.mark.django_db(transaction=True)]


def _record(use: LabelUse) -> ApplicationRecord:
    branch = make_branch()
    return make_record(
        make_zone(make_property(make_customer(branch))), make_person([], branch), use
    )


def _named(use: LabelUse) -> LabelUse:
    found = direction_named(use.pk)
    assert found is not None
    return found


def test_a_label_in_use_is_read_once_and_says_the_same() -> None:
    use = make_label()
    before = label_facts(_named(use))
    _record(use)
    assert label_facts(_named(use)) == before
    with CaptureQueriesContext(connection) as seen:
        assert label_facts(_named(use)) == before
    said = " ".join(one["sql"] for one in seen)
    for table in ("labeluse", "labelversion", "labellimit", "product", "labelverification"):
        assert f'FROM "treatments_{table}"' not in said


def test_what_is_kept_the_database_lets_nobody_change() -> None:
    use = make_label()
    _record(use)
    assert used_direction(use.pk) is not None
    for row in (use, use.label_version, use.label_version.product):
        with pytest.raises(DatabaseError), transaction.atomic():
            row.save()


def test_a_label_that_nobody_used_is_never_kept() -> None:
    use = make_label()
    assert used_direction(use.pk) is None
    assert _named(use).uses_per_year is None
    LabelUse.objects.filter(pk=use.pk).update(uses_per_year=4)
    assert _named(use).uses_per_year == 4


def test_what_may_still_be_rolled_back_is_never_kept() -> None:
    use = make_label()
    with transaction.atomic():
        _record(use)
        assert used_direction(use.pk) is None
        assert _named(use) == use
        transaction.set_rollback(True)
    LabelUse.objects.filter(pk=use.pk).update(uses_per_year=4)
    assert _named(use).uses_per_year == 4


def test_names_of_pests_and_ingredients_are_read_every_time() -> None:
    pest = make_pest("Invented beetle")
    use = make_label(pests=[pest])
    active = ActiveIngredient.objects.create(common_name="inventedthrin", irac_group="3A")
    product = use.label_version.product
    ProductIngredient.objects.create(product=product, ingredient=active, percent_by_weight="5.8")
    _record(use)
    assert _groups(_named(use)) == {"3A"}
    ActiveIngredient.objects.update(irac_group="4A")
    type(pest).objects.update(common_name="Renamed beetle")
    assert _groups(_named(use)) == {"4A"}
    assert label_facts(_named(use)).pests == {"Renamed beetle"}


def _groups(use: LabelUse) -> set[str]:
    rows = use.label_version.product.ingredients.all()
    return {row.ingredient.irac_group for row in rows}


def test_a_verification_that_comes_later_is_seen() -> None:
    use = make_label(is_verified=False)
    _record(use)
    assert not label_facts(_named(use)).is_verified
    LabelVerification.objects.create(label_version=use.label_version, verified_at=AT)
    assert label_facts(_named(use)).is_verified


def test_a_withdrawal_by_another_process_is_seen() -> None:
    use = make_label()
    _record(use)
    assert label_facts(_named(use)).not_to_be_used_after is None
    connections.close_all()
    other = multiprocessing.get_context("fork").Process(
        target=_withdraw, args=(use.label_version_id,)
    )
    other.start()
    other.join()
    assert other.exitcode == 0
    assert label_facts(_named(use)).not_to_be_used_after == date(2026, 4, 1)


def _withdraw(label_version_id: int) -> None:
    LabelWithdrawal.objects.create(
        label_version_id=label_version_id,
        not_to_be_used_after=date(2026, 4, 1),
        reason="Registration ended.",
        at=AT,
    )
    connections.close_all()


def test_each_asking_has_a_copy_of_its_own() -> None:
    use = make_label()
    _record(use)
    _named(use).label_version.product.name = "Changed by one who asked"
    assert _named(use).label_version.product.name == use.label_version.product.name


def test_a_rule_is_kept_once_it_is_settled_and_its_verification_is_seen() -> None:
    load_profiles()
    (first, *_) = (one for one in profiles_of("OH") if one.code == "US-OH")
    assert not caches["settled"].get(f"profile:{_pk(first.name)}:False:False")
    mark_used([first], AT)
    (used,) = (one for one in profiles_of("OH") if one.name == first.name)
    assert used.is_used
    assert not used.is_verified
    assert caches["settled"].get(f"profile:{_pk(first.name)}:True:False") == used
    ProfileVerification.objects.create(profile_id=_pk(first.name), verified_at=AT)
    (verified,) = (one for one in profiles_of("OH") if one.name == first.name)
    assert verified.is_verified


def _pk(name: str) -> int:
    code, _, version = name.rpartition("/")
    return JurisdictionProfile.objects.get(code=code, version=version).pk
