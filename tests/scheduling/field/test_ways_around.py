"""Edited addresses and odd spellings: nothing is counted twice, left out or answered twice."""

from __future__ import annotations

import uuid
from decimal import Decimal

import pytest

from sites.models import Preference
from tests.factories import make_label, make_pest, make_product
from tests.scheduling.field.conftest import Stop
from tests.scheduling.field.test_load_pages import FROM_LOAD, TANK, mixed
from tests.scheduling.field.test_pages import text
from treatments.models import (
    ActiveIngredient,
    ApplicationRecord,
    LabelLimit,
    LabelUse,
    Load,
    LogEntry,
    ProductIngredient,
)
from treatments.selectors.loads import named_loads, states_of

pytestmark = pytest.mark.django_db


def hives(use: LabelUse, feet: int) -> None:
    LabelLimit.objects.create(
        label_version=use.label_version, fact="hive_distance", comparison="at_least",
        limit=feet, severity="refuse", sentence="Keep away from hives.", page="p. 6",
    )  # fmt: skip


def second(stop: Stop, **fields: object) -> LabelUse:
    use = {"rate_max": 1, "rate_unit": "oz_wt", "per_gallon": None} | fields
    product = make_product("Demonstration P WP", formulation="wp")
    return make_label(product, pests=list(stop.use.pests.all()), use=use)


@pytest.mark.parametrize("spell", [str.upper, lambda ref: ref.replace("-", ""), "{{{}}}".format])
def test_a_load_is_counted_however_its_reference_is_spelled(stop: Stop, spell: object) -> None:
    load = mixed(stop)
    sent = stop.send(**FROM_LOAD | {"load": spell(load.ref)})  # type: ignore[operator]
    assert sent.status_code == 302
    assert ApplicationRecord.objects.latest("pk").load_ref == load.ref
    (state,) = states_of(named_loads())
    assert state.left_ul == load.finished_ul - 2_271_247  # 0.6 gal, NIST Handbook 44


def test_a_zone_named_twice_is_one_zone(stop: Stop) -> None:
    page = text(stop.mix(f"{stop.choice}&zone={stop.zone.pk}"))
    assert "Amounts for 600 sq ft" in page
    assert ">13 mL<" in page and "Load 2" not in page


def test_an_answer_to_one_label_answers_no_other(stop: Stop) -> None:
    other = second(stop)
    hives(stop.use, 30)
    hives(other, 300)
    yes = "&ask_hive_distance=yes"
    assert "30 ft away? Answered: yes" in text(stop.mix(f"{stop.choice}{yes}&of={stop.use.pk}"))
    moved = f"?zone={stop.zone.pk}&use={other.pk}&of={stop.use.pk}&tank=1{yes}"
    assert "Not answered: Is every hive at least 300 ft away?" in text(stop.mix(moved))
    both = text(stop.mix(f"{stop.choice}{yes}&of={stop.use.pk}&also={other.pk}"))
    assert "Not answered: Is every hive at least 300 ft away?" in both


def test_a_tank_of_two_is_a_load_of_both(stop: Stop) -> None:
    both = f"{stop.choice}&also={second(stop).pk}"
    page = text(stop.mix(both))
    assert "Put this load on board" in page
    assert page.count(", undiluted") == 2
    form = TANK | {"client_ref": str(uuid.uuid4())}
    assert stop.client.post(f"{stop.path}mix/load/{both}", form).status_code == 422
    assert not Load.objects.exists()


def test_what_waits_for_a_signature_is_neither_loaded_nor_tagged(stop: Stop) -> None:
    silent = f"{stop.choice}&method=broadcast"
    page = text(stop.mix(silent))
    assert "Sign first" in page and "Put this load on board" not in page
    form = TANK | {"client_ref": str(uuid.uuid4())}
    assert stop.client.post(f"{stop.path}mix/load/{silent}", form).status_code == 422
    tag = stop.client.get(f"{stop.path}mix/tag.pdf{silent}")
    assert tag.status_code == 422 and "signs first" in text(tag)


def test_a_second_product_that_waits_for_a_signature_is_put_out_by_itself(stop: Stop) -> None:
    other = second(stop)
    other.pests.set([make_pest("Somebody else's pest")])
    page = text(stop.mix(f"{stop.choice}&also={other.pk}"))
    assert "is silent about this. Put it out by itself" in page and "Load 1" not in page


def test_a_strength_that_is_not_known_is_not_counted_as_nothing(stop: Stop) -> None:
    other = second(stop, rate_unit="fl_oz")
    demothrin = ActiveIngredient.objects.create(common_name="demothrin")
    for use, pounds in ((stop.use, Decimal("0.6")), (other, None)):
        ProductIngredient.objects.create(
            product=use.label_version.product, ingredient=demothrin,
            percent_by_weight=8, pounds_per_gallon=pounds,
        )  # fmt: skip
    LabelLimit.objects.create(
        label_version=stop.use.label_version, fact="ingredient_per_acre_year",
        comparison="at_most", limit=3, severity="refuse", sentence="3 lb a year.", page="p. 2",
    )  # fmt: skip
    page = text(stop.mix(f"{stop.choice}&also={other.pk}"))
    assert "demothrin is in two products, and how much of it is put down is not known." in page


def test_no_name_or_note_of_a_customer_gets_into_the_log(stop: Stop) -> None:
    Preference.objects.create(
        property=stop.visit.property, kind="call_first", is_hard=True,
        said_by="Maria Nosuchname", said_on="2026-10-26", note="ring 614-555-0100",
    )  # fmt: skip
    assert "Maria Nosuchname" in text(stop.mix())  # the technician reads who said so
    assert stop.send().status_code == 302
    (leaf,) = [bytes(one.leaf) for one in LogEntry.objects.all()]
    assert b"asked for a call first: Oct 26, 2026" in leaf
    assert b"Nosuchname" not in leaf and b"555-0100" not in leaf
