"""What a label says is frozen by the database once a record relies on it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest
from django.db import DatabaseError, connection, models, transaction

from accounts.append_only import install, lift
from tests.attacks import fast_delete, refused, save
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
from tests.guards_off import all_guards
from treatments.models import (
    ActiveIngredient,
    ApplicationRecord,
    LabelLimit,
    LabelUse,
    LabelVersion,
    Product,
    ProductIngredient,
)

pytestmark = [pytest.mark.engine, pytest.mark.django_db]


def _limit(use: LabelUse) -> LabelLimit:
    return LabelLimit.objects.create(
        label_version=use.label_version,
        label_use=use,
        fact="wind",
        comparison="at_most",
        limit=10,
        severity="warn",
        sentence="Not above 10 mph.",
        page="p. 2",
    )


def _ingredient(product: Product) -> ProductIngredient:
    name = f"invented {product.ingredients.count()}"
    ingredient = ActiveIngredient.objects.create(common_name=f"{name} of {product.pk}")
    return ProductIngredient.objects.create(
        product=product, ingredient=ingredient, percent_by_weight=1
    )


def _another_direction(use: LabelUse) -> None:
    use.pk, use._state.adding = None, True
    use.save()


def test_a_label_changes_until_it_is_used_and_then_never() -> None:
    person = make_person(branch=make_branch())
    use = make_label()
    limit = _limit(use)
    part = _ingredient(use.label_version.product)
    settled = (use.label_version, use, limit, part, use.label_version.product)
    for row in settled:
        row.save(force_update=True)
    use.pests.add(make_pest())
    make_record(make_zone(make_property(make_customer(person.branch))), person, use)
    for row in settled:
        refused(save, row)
        refused(fast_delete, row)
    for attack in (
        use.pests.clear,
        lambda: use.pests.add(make_pest()),
        lambda: _limit(use),
        lambda: _ingredient(use.label_version.product),
        lambda: _another_direction(use),
    ):
        with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
            attack()


def test_the_next_version_of_a_used_product_is_entered_beside_it() -> None:
    person = make_person(branch=make_branch())
    use = make_label()
    make_record(make_zone(make_property(make_customer(person.branch))), person, use)
    later = make_label(use.label_version.product, effective_on=date(2026, 12, 1))
    _limit(later)
    assert later.label_version.product.labels.count() == 2


def test_a_label_nobody_used_can_be_deleted() -> None:
    use = make_label(is_verified=False)
    version = use.label_version
    use.delete()
    version.delete()
    assert not LabelUse.objects.exists()


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("model", [LabelVersion, ApplicationRecord, LabelUse])
def test_a_table_that_guards_ask_can_be_rebuilt_by_a_migration(
    model: type[models.Model], guards_on: Callable[[], list[str]]
) -> None:
    """SQLite rebuilds a table to alter it; triggers of others that name it would refuse that."""
    lift(connection, all_guards())
    if connection.vendor == "sqlite":
        with connection.schema_editor() as editor:
            editor._remake_table(model)
        assert guards_on() != []
    install(connection, all_guards())
    assert guards_on() == []
    test_a_label_changes_until_it_is_used_and_then_never()
