"""A load from mixing to its end: records take from it, stock follows, two of them never collide.

1 gal = 3,785,411.784 uL, 1 fl oz = 29,573.5295625 uL (NIST Handbook 44, Appendix C).
"""

from __future__ import annotations

import uuid
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import timedelta
from threading import Barrier
from typing import Any

import pytest
from django.db import connection, transaction

from accounts.models import Person
from accounts.refusals import Refused
from tests.factories import make_label, make_product, make_zone
from tests.treatments.conftest import NOW, House
from tests.treatments.load_cases import MIXED, hours, mixed, mixing, settled, used
from treatments.models import (
    ApplicationJudgement,
    ApplicationRecord,
    Equipment,
    Load,
    LogEntry,
)
from treatments.rules.applications import Entered, TreatedZone
from treatments.rules.load_entries import Leftover
from treatments.selectors.loads import load_for, loads_on_board
from treatments.selectors.log import verify
from treatments.services.label_rows import editable_version
from treatments.services.loads import mix_load, settle_load
from treatments.services.recording import record_application

pytestmark = [pytest.mark.engine, pytest.mark.django_db]


def test_a_load_is_stored_as_it_was_mixed(house: House) -> None:
    hours(house, 24)
    load = mixed(house)
    assert (load.product_ul, load.product_mg, load.finished_ul) == (118_294, None, 15_141_647)
    assert (load.product_amount, load.finished_amount, load.equipment) == (
        "4",
        "4",
        "4-gal backpack",
    )
    assert (load.label_version_id, load.use_within_hours) == (house.use.label_version_id, 24)
    (on_board,) = loads_on_board(house.technician)
    assert (on_board.load, on_board.left_ul) == (load, 15_141_647)


def test_a_limit_that_is_not_verified_ends_no_load(house: House) -> None:
    hours(house, 1, severity="warn")
    load = mixed(house)
    assert load.use_within_hours is None
    said = used(house, load).record.judgements.get(code="mixed_hours")
    assert (said.severity, "not judged here" in said.sentence) == ("warn", True)


def test_the_product_of_a_record_follows_from_the_load(house: House) -> None:
    load = mixed(house, product=Entered("3.9", "fl_oz"))
    record = used(house, load).record
    # 3.9 fl oz in 4 gal: 115,337 uL x 6,056,659 / 15,141,647 = 46,134.8
    assert (record.product_ul, record.finished_ul) == (46_135, 6_056_659)
    assert (record.load_ref, record.finished_amount) == (load.ref, "1.6")
    assert record.product_unit == "fl_oz"
    assert load_for(house.technician, load.pk).left_ul == 15_141_647 - 6_056_659
    assert f'"load_ref":"{load.ref}"' in bytes(LogEntry.objects.get(record=record).leaf).decode()
    assert verify(record.branch_id).is_whole


def test_a_record_is_judged_by_what_the_load_gives(house: House) -> None:
    # 3.2 gal of 1 fl oz a gallon on 1,600 sq ft is twice the label's 1 fl oz per 1,000 sq ft
    record = used(house, mixed(house), "3.2").record
    assert record.judgements.get(code="rate").severity == "violation"


def test_the_same_mixing_twice_is_one_load(house: House) -> None:
    once = mixing(house)
    first = mix_load(mixing=once, by=house.technician, now=NOW)
    assert mix_load(mixing=once, by=house.technician, now=NOW) == first
    with pytest.raises(Refused, match="already names another entry"):
        other = replace(once, finished=Entered("3", "gal"))
        mix_load(mixing=other, by=house.technician, now=NOW)
    assert Load.objects.count() == 1


@pytest.mark.parametrize(
    ("changes", "field", "sentence"),
    [
        ({"product": Entered("", "fl_oz")}, "product_amount", "amount is missing"),
        ({"product": Entered("1,5", "fl_oz")}, "product_amount", "has a comma"),
        ({"product": Entered("0", "fl_oz")}, "product_amount", "Nothing was used"),
        ({"product": Entered("4", "oz_wt")}, "product_amount", "measures this product by volume"),
        ({"product": Entered("4", "gal")}, "product_amount", "leaves no room for water"),
        ({"finished": Entered("0", "gal")}, "finished_amount", "amount is missing"),
        ({"finished": Entered("4", "lb")}, "finished_amount", "Finished spray is a volume"),
        ({"mixed_at": NOW + timedelta(hours=1)}, "mixed", "in the future"),
        ({"lot_id": 0}, "lot", "no such lot"),
        ({"sprayer_id": 0}, "sprayer", "no such sprayer"),
    ],
)
def test_what_cannot_be_mixed(
    house: House, changes: dict[str, Any], field: str, sentence: str
) -> None:
    with pytest.raises(Refused, match=sentence) as refused:
        mixed(house, **changes)
    assert refused.value.facts["field"] == field
    assert not Load.objects.exists()


def test_a_tank_holds_no_more_than_it_holds(house: House) -> None:
    can = Equipment.objects.create(
        branch=house.place.branch, name="1-gal can", kind="hand_can", tank_gal=1
    )
    with pytest.raises(Refused, match=r"1-gal can holds 1\.00 gal"):
        mixed(house, sprayer_id=can.pk)
    one = mixed(
        house,
        sprayer_id=can.pk,
        equipment="",
        product=Entered("1", "fl_oz"),
        finished=Entered("1", "gal"),
    )
    assert (one.sprayer, one.equipment) == (can, "1-gal can")


def test_only_who_applies_mixes(house: House, office: Person) -> None:
    for act in (
        lambda: mix_load(mixing=mixing(house), by=office, now=NOW),
        lambda: settle_load(
            load_id=mixed(house).pk, leftover=Leftover(uuid.uuid4(), "none"), by=office, now=NOW
        ),
    ):
        with pytest.raises(Refused, match="role"):
            act()


def _another_label(house: House) -> dict[str, Any]:
    return {"label_use_id": make_label(pests=[house.pest]).pk}


def _another_place(house: House) -> dict[str, Any]:
    return {"zones": (TreatedZone(make_zone(house.place, place="eave_soffit").pk),)}


def _after_four_hours(house: House) -> dict[str, Any]:
    start = MIXED + timedelta(hours=1, minutes=1)
    return {"started_at": start, "finished_at": start + timedelta(minutes=5)}


def _before_it_was_mixed(house: House) -> dict[str, Any]:
    start = MIXED - timedelta(hours=1)
    return {"started_at": start, "finished_at": start + timedelta(minutes=5)}


def _product_beside_it(house: House) -> dict[str, Any]:
    return {"product_amount": Entered("1", "fl_oz")}


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (_another_label, "the direction you chose is of another label"),
        (_another_place, "may not be used here. Eave"),
        (_after_four_hours, "The time to use this load was over at 2:00 PM"),
        (_before_it_was_mixed, "mixed at 1:00 PM on Nov 25, after this work"),
        (_product_beside_it, "product follows from the load"),
        (lambda house: {"finished_amount": None}, "amount is missing"),
        (lambda house: {"load_ref": str(uuid.uuid4())}, "not on board"),
        (lambda house: {"load_ref": "the green can"}, "not on board"),
    ],
)
def test_a_load_is_not_used_where_it_may_not(
    house: House, change: Callable[[House], dict[str, Any]], sentence: str
) -> None:
    hours(house, 1)
    load = mixed(house)
    start = MIXED + timedelta(minutes=10)
    fields = {
        "product_amount": None,
        "finished_amount": Entered("1.6", "gal"),
        "load_ref": load.ref,
        "started_at": start,
        "finished_at": start + timedelta(minutes=24),
    }
    with pytest.raises(Refused, match=sentence):
        application = house.application(**fields | change(house))
        record_application(application=application, by=house.technician, now=NOW)
    assert not ApplicationRecord.objects.exists()
    # the load itself may be used
    record_application(application=house.application(**fields), by=house.technician, now=NOW)
    assert load_for(house.technician, load.pk).left_ul == 15_141_647 - 6_056_659


def test_a_use_that_ends_too_late_is_recorded_and_marked(house: House) -> None:
    hours(house, 1)
    start = MIXED + timedelta(minutes=50)
    times = {"started_at": start, "finished_at": start + timedelta(minutes=20)}
    record = used(house, mixed(house), **times).record
    said = record.judgements.get(code="load_time")
    assert (said.severity, "2:00 PM on Nov 25" in said.sentence) == ("violation", True)


def test_a_label_that_a_load_was_mixed_by_is_not_edited(house: House) -> None:
    version = make_label(make_product("Demonstration Q SC"), is_verified=False).label_version
    with transaction.atomic():
        assert editable_version(version.pk, NOW.date()) == version
    mixed(house)
    with pytest.raises(Refused, match="was used and never changes"):
        editable_version(house.use.label_version_id, NOW.date())


def test_somebody_elses_load_is_not_used(house: House, other_technician: Person) -> None:
    load = mix_load(mixing=mixing(house), by=other_technician, now=NOW)
    with pytest.raises(Refused, match="not on board"):
        used(house, load)


def test_a_replay_takes_nothing_from_the_load_again(house: House) -> None:
    load = mixed(house, finished=Entered("1.6", "gal"), product=Entered("1.6", "fl_oz"))
    application = house.application(
        product_amount=None, finished_amount=Entered("1.6", "gal"), load_ref=load.ref
    )
    said = {"application": application, "by": house.technician, "now": NOW}
    first = record_application(**said)
    settled(house, load, "none")
    again = record_application(**said)
    assert (again.is_replay, again.record) == (True, first.record)
    assert load_for(house.technician, load.pk).left_ul == 0


@pytest.mark.django_db(transaction=True)
def test_two_records_that_race_for_the_rest_are_never_both_silent(
    make_house: Callable[..., House],
) -> None:
    houses = [make_house(street=f"{number} Mill Road") for number in range(2)]
    load = mixed(houses[0], product=Entered("2", "fl_oz"), finished=Entered("2", "gal"))
    gate = Barrier(2)

    def record(house: House) -> int:
        try:
            gate.wait(timeout=20)
            return used(house, load).record.pk
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        records = list(pool.map(record, houses))
    assert len(set(records)) == 2
    # 2 gal - 2 x 1.6 gal
    assert load_for(houses[0].technician, load.pk).left_ul == 7_570_824 - 2 * 6_056_659
    said = ApplicationJudgement.objects.get(code="load")
    assert (said.severity, said.record_id in records) == ("warn", True)
    assert "1.60 gal was put out of a load with 0.40 gal left" in said.sentence
    assert verify(houses[0].place.branch_id).is_whole


@pytest.mark.django_db(transaction=True)
def test_one_mixing_sent_twice_at_once_is_one_load(house: House) -> None:
    once, gate = mixing(house), Barrier(2)

    def mix(_: int) -> int:
        try:
            gate.wait(timeout=20)
            return mix_load(mixing=once, by=house.technician, now=NOW).pk
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        assert len(set(pool.map(mix, range(2)))) == 1
    assert Load.objects.count() == 1
