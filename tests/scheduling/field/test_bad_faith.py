"""Posts that do not fit the page any more, or never did: nothing typed is lost, nothing is taken.

What was done is recorded, also against the label (design, 8-settled and 9-trade 3 and 10); what was
not done is refused in a sentence that says why.
"""

from __future__ import annotations

import uuid
from datetime import date

import pytest
from django.utils import timezone

from accounts.models import Branch, Person
from accounts.permissions import Role
from tests.factories import (
    make_customer,
    make_label,
    make_load,
    make_person,
    make_product,
    make_property,
    make_zone,
)
from tests.scheduling.field.conftest import Stop
from tests.scheduling.field.test_load_pages import FROM_LOAD, mix, mixed
from tests.scheduling.field.test_pages import text
from treatments.models import (
    ApplicationRecord,
    Equipment,
    LabelUse,
    LabelVersion,
    Load,
    LoadRest,
    ProductLot,
    StockPlace,
)
from treatments.services.withdrawals import withdraw_label

pytestmark = pytest.mark.django_db
RECALLED = "withdrawn, not to be used after Nov 24, 2026: Recalled by the maker."


def withdraw(version: LabelVersion, by: Person) -> None:
    withdraw_label(
        label_version_id=version.pk,
        last_day=date(2026, 11, 24),
        reason="Recalled by the maker.",
        by=by,
        now=timezone.now(),
    )


def record_of(stop: Stop) -> ApplicationRecord:
    return ApplicationRecord.objects.get(visit_ref=str(stop.visit.ref))


def test_work_done_when_the_label_was_withdrawn_meanwhile_is_recorded_and_judged(
    stop: Stop, manager: Person
) -> None:
    withdraw(stop.use.label_version, manager)
    assert stop.send().status_code == 302
    said = record_of(stop).judgements.get(code="version")
    assert said.severity == "violation" and RECALLED in said.sentence


def test_a_load_of_a_label_withdrawn_meanwhile_is_still_named_by_its_record(
    stop: Stop, manager: Person
) -> None:
    load = mixed(stop)
    withdraw(stop.use.label_version, manager)
    page = text(stop.client.get(f"{stop.path}record/{stop.choice}&load={load.ref}"))
    assert "Outside perimeter band" in page
    assert stop.send(**FROM_LOAD, load=load.ref).status_code == 302
    assert record_of(stop).load_ref == load.ref


def test_the_mix_of_a_withdrawn_label_says_why_not(stop: Stop, manager: Person) -> None:
    withdraw(stop.use.label_version, manager)
    page = text(stop.mix())
    assert RECALLED in page and "Put this load on board" not in page
    answer = mix(stop)
    assert answer.status_code == 422 and not Load.objects.exists()


def superseded(stop: Stop) -> LabelVersion:
    """The next label of the product, in force since June."""
    day = date(2026, 6, 1)
    product = stop.use.label_version.product
    return make_label(product, effective_on=day, label_date=day).label_version


def test_a_superseded_label_without_a_lot_is_not_mixed_and_what_was_done_is_recorded(
    stop: Stop,
) -> None:
    superseded(stop)
    page = text(stop.mix())
    assert "is superseded and no lot of it is on your truck" in page
    assert "Put this load on board" not in page
    assert mix(stop).status_code == 422 and not Load.objects.exists()
    assert stop.send().status_code == 302
    assert record_of(stop).label_version_id == stop.use.label_version_id


def test_a_label_still_being_entered_is_no_choice(stop: Stop) -> None:
    LabelVersion.objects.filter(pk=stop.use.label_version_id).update(is_draft=True)
    answer = stop.send()
    assert answer.status_code == 302 and "/mix/" in answer["Location"]
    assert not ApplicationRecord.objects.filter(visit_ref=str(stop.visit.ref)).exists()


@pytest.fixture
def away(branch_penn: Branch) -> Person:
    """A technician of the other branch."""
    return make_person([Role.TECHNICIAN], branch_penn)


def test_lots_and_sprayers_of_another_branch_are_no_choice(stop: Stop, away: Person) -> None:
    lot = ProductLot.objects.create(
        label_version=stop.use.label_version, branch=away.branch, lot_number="L-9",
        container_size="32", container_unit="fl_oz", received_on=date(2026, 11, 1), dealer="D",
    )  # fmt: skip
    sprayer = Equipment.objects.create(
        branch=away.branch, name="Can 9", kind="hand_can", tank_gal=1
    )
    for typed in ({"lot": lot.pk}, {"sprayer": sprayer.pk}):
        answer = mix(stop, **typed)
        assert answer.status_code == 422, typed
    assert not Load.objects.exists()


def test_a_load_of_somebody_else_is_not_named_nor_ended(stop: Stop, away: Person) -> None:
    load = make_load(away, stop.use)
    answer = stop.send(**FROM_LOAD, load=load.ref)
    assert answer.status_code == 422
    rest = {"client_ref": str(uuid.uuid4()), "kind": "none", "amount": "", "unit": "gal"}
    assert stop.client.post(f"/loads/{load.pk}/", rest).status_code == 404
    assert not LoadRest.objects.exists()
    assert not ApplicationRecord.objects.filter(visit_ref=str(stop.visit.ref)).exists()


def test_zones_of_another_property_are_not_treated(stop: Stop, away: Person) -> None:
    elsewhere = make_zone(make_property(make_customer(away.branch)), "Elsewhere")
    answer = stop.send(f"?zone={elsewhere.pk}&use={stop.use.pk}&tank=1")
    assert answer.status_code in (302, 422)
    assert not ApplicationRecord.objects.filter(visit_ref=str(stop.visit.ref)).exists()
    both = f"?zone={stop.zone.pk}&zone={elsewhere.pk}&use={stop.use.pk}&tank=1"
    assert stop.send(both).status_code == 422
    assert not ApplicationRecord.objects.filter(visit_ref=str(stop.visit.ref)).exists()


def test_a_rest_goes_into_no_container_of_another_branch(stop: Stop, away: Person) -> None:
    load = mixed(stop)
    for name in ("Drum 1", "Drum 2"):
        StockPlace.objects.create(branch=load.branch, kind="rinsate", name=name)
    theirs = StockPlace.objects.create(branch=away.branch, kind="rinsate", name="Drum 9")
    rest = {
        "client_ref": str(uuid.uuid4()), "kind": "rinsate", "amount": "1", "unit": "gal",
        "container": theirs.pk,
    }  # fmt: skip
    assert stop.client.post(f"/loads/{load.pk}/", rest).status_code == 422
    assert not LoadRest.objects.exists()


REUSED = "already names another"


def test_a_reference_sent_again_with_other_content_is_refused(stop: Stop) -> None:
    ref = {"client_ref": str(uuid.uuid4())}
    assert mix(stop, **ref).status_code == 302
    answer = mix(stop, **ref, product_amount="0.5")
    assert answer.status_code == 422 and REUSED in answer.content.decode()
    load = Load.objects.get()
    assert load.product_amount == "0.8"
    said = {"client_ref": str(uuid.uuid4()), "kind": "kept", "amount": "1", "unit": "gal"}
    path = f"/loads/{load.pk}/"
    assert stop.client.post(path, said).status_code == 302
    answer = stop.client.post(path, said | {"amount": "0.9"})
    assert answer.status_code == 422 and REUSED in answer.content.decode()
    assert LoadRest.objects.get().amount == "1"
    sent = str(uuid.uuid4())
    assert stop.send(client_ref=sent, ending="another").status_code == 302
    answer = stop.send(client_ref=sent, ending="another", product_amount="0.40")
    assert answer.status_code == 422 and REUSED in answer.content.decode()
    assert record_of(stop).product_amount == "0.48"


def test_a_direction_without_a_place_is_refused_before_and_judged_after(stop: Stop) -> None:
    LabelUse.objects.filter(pk=stop.use.pk).update(places=[])
    page = text(stop.mix())
    assert (
        "Put this load on board" not in page
        and "is not on this direction; it is for no place" in page
    )
    assert stop.send().status_code == 302
    assert record_of(stop).judgements.filter(code="place", severity="violation").exists()


@pytest.mark.parametrize("kind", ["exempt_25b", "device"])
def test_a_product_without_a_number_is_mixed_and_recorded(stop: Stop, kind: str) -> None:
    product = make_product(registration_kind=kind, registration_number="")
    use = make_label(product)
    choice = f"?zone={stop.zone.pk}&use={use.pk}&tank=1"
    assert "no number" in text(stop.mix(choice))
    assert stop.send(choice).status_code == 302
    assert record_of(stop).registration_number == ""
