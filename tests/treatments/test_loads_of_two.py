"""A tank of two products as one load: what is mixed, recorded together, left and taken from stock.

1 gal = 3,785,411.784 uL, 1 fl oz = 29,573.5295625 uL (NIST Handbook 44, Appendix C).
"""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.refusals import Refused
from sites.rules.units import Amount
from tests.factories import make_label, make_product
from tests.treatments.conftest import NOW, House
from tests.treatments.load_cases import mixed, mixing, settled, used
from tests.treatments.stock_cases import Shelf, shelf
from tests.treatments.test_log import behind_the_guards
from treatments.models import ApplicationRecord, LabelLimit, LabelUse, Load, LogEntry, StockMove
from treatments.rules.applications import Application, Entered
from treatments.rules.corrections import Change
from treatments.rules.load_entries import AlsoMixed, digest_of_entry
from treatments.rules.load_strength import Strength, refuse_strength
from treatments.rules.loads import Mixture, left_ul
from treatments.rules.products import RateBasis
from treatments.rules.rates import Rate
from treatments.selectors.loads import has_two_products, load_for
from treatments.selectors.log import verify
from treatments.services.entry_loads import with_product_of_load
from treatments.services.loads import mix_load
from treatments.services.recording import Recorded, record_tank

__all__ = ["shelf"]
pytestmark = [pytest.mark.engine, pytest.mark.django_db]


@pytest.fixture
def other(house: House) -> LabelUse:
    """Another product at 0.5 fl oz in 1 gal over 1,000 sq ft."""
    return make_label(
        make_product("Demonstration D EC", registration_number="99999-104"),
        pests=[house.pest],
        use={"rate_min": "0.4", "rate_max": "0.5", "per_gallon": "0.5"},
    )


def two(house: House, other: LabelUse, **changes: Any) -> Load:
    """3 fl oz and 2 fl oz in 4 gal."""
    also = AlsoMixed(other.pk, Entered("2", "fl_oz"), changes.pop("also_lot", None))
    return mixed(house, product=Entered("3", "fl_oz"), also=also, **changes)


def pair(house: House, load: Load, other: LabelUse, **changes: Any) -> list[Application]:
    first = house.application(
        **{"product_amount": None, "finished_amount": Entered("1.6", "gal"), "load_ref": load.ref}
        | changes
    )
    return [first, replace(first, client_ref=uuid.uuid4(), label_use_id=other.pk)]


def put_out(house: House, load: Load, other: LabelUse, **changes: Any) -> tuple[Recorded, ...]:
    applications = pair(house, load, other, **changes)
    return record_tank(applications=applications, by=house.technician, now=NOW)


def test_a_tank_of_two_is_one_load_and_one_leaf(house: House, other: LabelUse) -> None:
    load = two(house, other)
    also = load.also.get()
    assert (load.product_ul, also.product_ul, load.finished_ul) == (88_721, 59_147, 15_141_647)
    assert also.label_version == other.label_version
    assert LogEntry.objects.filter(kind="load").count() == 1
    assert verify(load.branch_id).is_whole


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE treatments_loadproduct SET product_ul = 9",
        "DELETE FROM treatments_loadproduct",
    ],
)
def test_a_second_product_that_changed_behind_the_guards_is_found(
    house: House, other: LabelUse, statement: str
) -> None:
    load = two(house, other)
    behind_the_guards(statement)
    found = verify(load.branch_id)
    assert not found.is_whole
    assert "Leaf 0: payload" in found.difference


def test_both_records_count_the_spray_once(house: House, other: LabelUse) -> None:
    load = two(house, other)
    first, second = put_out(house, load, other)
    # 1.6 gal of 0.75 and of 0.5 fl oz a gallon: 1.2 and 0.8 fl oz
    assert (first.record.product_ul, second.record.product_ul) == (35_488, 23_659)
    assert (first.record.load_ref, second.record.load_ref) == (load.ref, load.ref)
    state = load_for(house.technician, load.pk)
    assert (state.put_out_ul, state.left_ul) == (6_056_659, 15_141_647 - 6_056_659)
    codes = {one.code for one in (*first.judgements, *second.judgements)}
    assert not codes & {"load", "load_time", "load_rest"}
    assert verify(load.branch_id).is_whole


def test_one_of_them_alone_is_refused(house: House, other: LabelUse) -> None:
    load = two(house, other)
    with pytest.raises(Refused, match="both are recorded together"):
        used(house, load)
    assert not ApplicationRecord.objects.exists()


def test_sent_twice_they_are_two_records(house: House, other: LabelUse) -> None:
    applications = pair(house, two(house, other), other)
    for _ in range(2):
        found = record_tank(applications=applications, by=house.technician, now=NOW)
    assert [one.is_replay for one in found] == [True, True]
    assert ApplicationRecord.objects.count() == 2


def test_where_one_label_does_not_allow_it_neither_is_stored(house: House, other: LabelUse) -> None:
    load = two(house, other)
    LabelUse.objects.filter(pk=other.pk).update(places=["eave_soffit"])
    with pytest.raises(Refused, match="may not be used here"):
        put_out(house, load, other)
    assert not ApplicationRecord.objects.exists()


@pytest.mark.parametrize(
    "change",
    [
        {"finished_amount": Entered("1", "gal")},
        {"finished_at": NOW - timedelta(minutes=1)},
        {"load_ref": ""},
    ],
    ids=["spray", "times", "load"],
)
def test_records_of_two_sprays_are_not_one(
    house: House, other: LabelUse, change: dict[str, Any]
) -> None:
    first, second = pair(house, two(house, other), other)
    with pytest.raises(Refused) as refused:
        record_tank(applications=[first, replace(second, **change)], by=house.technician, now=NOW)
    assert refused.value.code == "tank_apart"


def test_a_product_of_no_load_is_not_recorded_with_it(house: House, other: LabelUse) -> None:
    with pytest.raises(Refused):
        put_out(house, mixed(house), other)
    assert not ApplicationRecord.objects.exists()


def _too_strong(other: LabelUse) -> AlsoMixed:
    return AlsoMixed(other.pk, Entered("2.1", "fl_oz"))


def _do_not_mix(other: LabelUse) -> AlsoMixed:
    LabelLimit.objects.create(
        label_version=other.label_version, fact="tank_mix", comparison="forbidden", limit=0,
        severity="refuse", sentence="Do not mix with other products.", page="p. 3",
    )  # fmt: skip
    return AlsoMixed(other.pk, Entered("2", "fl_oz"))


def _no_room(other: LabelUse) -> AlsoMixed:
    return AlsoMixed(other.pk, Entered("3.99", "gal"))


def _nothing(other: LabelUse) -> AlsoMixed:
    return AlsoMixed(other.pk, Entered("0", "fl_oz"))


@pytest.mark.parametrize(
    ("also", "code"),
    [
        (_too_strong, "strength"),
        (_do_not_mix, "tank_mix"),
        (_no_room, "amount"),
        (_nothing, "amount"),
    ],
)
def test_what_cannot_be_the_second_product(
    house: House, other: LabelUse, also: Any, code: str
) -> None:
    said = mixing(house, product=Entered("3", "fl_oz"), also=also(other))
    with pytest.raises(Refused) as refused:
        mix_load(mixing=said, by=house.technician, now=NOW)
    assert (refused.value.code, refused.value.facts["field"]) == (code, "also_amount")
    assert not Load.objects.exists()


def test_the_same_product_twice_is_no_tank_of_two(house: House) -> None:
    said = mixing(house, also=AlsoMixed(house.use.pk, Entered("1", "fl_oz")))
    with pytest.raises(Refused, match="in this tank twice"):
        mix_load(mixing=said, by=house.technician, now=NOW)


def test_the_shorter_time_to_use_counts(house: House, other: LabelUse) -> None:
    for use, limit in ((house.use, 8), (other, 3)):
        LabelLimit.objects.create(
            label_version=use.label_version, fact="mixed_hours", comparison="at_most",
            limit=limit, severity="refuse", sentence="Use it soon.", page="p. 6",
        )  # fmt: skip
    assert two(house, other).use_within_hours == 3


def test_stock_agrees_for_each_product(shelf: Shelf, other: LabelUse) -> None:
    house, lots = shelf.house, {}
    for use in (house.use, other):
        lots[use] = shelf.receive(label_version_id=use.label_version_id)
        shelf.load(lots[use], "10")
    load = two(house, other, lot_id=lots[house.use].pk, also_lot=lots[other].pk)
    records = put_out(house, load, other)
    settled(house, load, "disposed", "2.4", how="On a labeled site", where="Gravel yard")
    for use, row, recorded in zip(lots, load.products, records, strict=True):
        moves = StockMove.objects.filter(lot=lots[use], kind__in=("use", "dispose"))
        assert [move.ul for move in moves.filter(kind="use")] == [recorded.record.product_ul]
        # 1.6 gal put out and 2.4 gal disposed of are the 4 gal of the load
        assert sum(move.ul for move in moves) == row.product
    assert load_for(house.technician, load.pk).board.is_ended


def test_what_is_kept_is_used_on_by_both(house: House, other: LabelUse) -> None:
    load = two(house, other)
    put_out(house, load, other)
    settled(house, load, "kept", "2.4", now=NOW + timedelta(minutes=1))
    state = load_for(house.technician, load.pk)
    assert abs(state.left_ul - 9_084_988) <= 1
    # 3 fl oz - 1.2 fl oz and 2 fl oz - 0.8 fl oz have not left stock
    left = [state.product_left(row) for row in state.load.products]
    assert left == [88_721 - 35_488, 59_147 - 23_659]


def test_an_empty_load_is_still_of_two(house: House, other: LabelUse) -> None:
    """A tap that is sent again after the tank is empty names both records again."""
    load, one = two(house, other), mixed(house)
    settled(house, load, "none")
    own = house.technician
    found = [has_two_products(own, ref) for ref in (load.ref, one.ref, "", "no load")]
    assert found == [True, False, False, False]


def test_a_corrected_volume_gives_the_product_of_its_own_record(
    house: House, other: LabelUse
) -> None:
    records = put_out(house, two(house, other), other)
    volume = Change("finished_amount", "1.6 gal", "4 gal")
    found = [with_product_of_load(one.record, [volume])[1] for one in records]
    # 4 gal is all of the load
    assert [(one.field, one.new) for one in found] == [
        ("product_amount", "3 fl_oz"),
        ("product_amount", "2 fl_oz"),
    ]


def test_a_load_of_one_keeps_its_digest(house: House) -> None:
    said = mixing(house)
    assert digest_of_entry(said) == digest_of_entry(replace(said, also=None))
    also = AlsoMixed(house.use.pk, Entered("1", "fl_oz"))
    assert digest_of_entry(said) != digest_of_entry(replace(said, also=also))


def test_a_liquid_beside_it_leaves_less_water() -> None:
    """1 fl oz to 1 gal of water: 1 gal of spray with 1 fl oz of another liquid holds less."""
    most = Rate.of(RateBasis.DILUENT_VOLUME, Decimal(1), "fl_oz")
    strength, beside = Strength(most, "p. 4"), [Amount(Decimal(1), "fl_oz")]
    one_gal = Amount(Decimal(1), "gal")
    fits = Amount(Decimal("0.9922"), "fl_oz")
    refuse_strength(strength, fits, one_gal)
    with pytest.raises(Refused) as refused:
        refuse_strength(strength, fits, one_gal, beside=beside, field="also_amount")
    assert refused.value.facts["field"] == "also_amount"


whole = st.integers(min_value=1, max_value=10**9)


@given(st.integers(10**4, 10**9), st.tuples(whole, whole), st.lists(st.floats(0, 1), max_size=6))
def test_uses_left_and_disposed_of_make_up_each_product(
    load_ul: int, products: tuple[int, int], shares: list[float]
) -> None:
    """However a load is split over stops, each product's parts differ by their rounding alone."""
    uses = [int(load_ul * share / max(len(shares), 1)) for share in shares]
    rest = left_ul(load_ul, uses)
    assert sum(uses) + rest == load_ul
    for product in products:
        mixture = Mixture(product, load_ul)
        parts = [mixture.product_in(volume) for volume in (*uses, rest)]
        assert abs(sum(parts) - product) * 2 <= len(parts)
