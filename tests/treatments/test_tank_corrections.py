"""A tank of two products is corrected as it was put out: both records at once, or neither.

1 gal = 3,785,411.784 uL, 1 fl oz = 29,573.5295625 uL (NIST Handbook 44, Appendix C).
"""

from __future__ import annotations

from typing import Any

import pytest

from accounts.models import OpenItem, Person
from accounts.refusals import Refused
from tests.factories import client_for
from tests.treatments.conftest import House
from tests.treatments.correction_cases import LATER, ask, corrected, is_whole, voided
from tests.treatments.load_cases import mixed, used
from tests.treatments.stock_cases import Shelf, shelf
from tests.treatments.test_loads_of_two import other, put_out, two
from treatments.models import (
    ApplicationRecord,
    CorrectionRequest,
    LabelUse,
    Load,
    LogEntry,
)
from treatments.selectors.loads import load_for
from treatments.selectors.stock import on_hand
from treatments.services import corrections
from treatments.services.corrections import ASKED, approve, approve_all, decline

__all__ = ["other", "shelf"]
pytestmark = pytest.mark.django_db


def both(house: House, other: LabelUse) -> tuple[ApplicationRecord, ApplicationRecord]:
    """1.6 gal of 0.75 and of 0.5 fl oz a gallon."""
    first, second = put_out(house, two(house, other), other)
    return first.record, second.record


def in_force() -> dict[int, tuple[str, int]]:
    rows = ApplicationRecord.objects.effective().order_by("label_version")
    return {row.label_version_id or 0: (row.finished_amount, row.product_ul or 0) for row in rows}


@pytest.mark.engine
def test_one_request_corrects_the_whole_tank(
    house: House, other: LabelUse, manager: Person
) -> None:
    first, second = both(house, other)
    request = ask(second, house.technician, finished_amount="1.2 gal")
    assert CorrectionRequest.objects.count() == 2
    (item,) = OpenItem.objects.filter(code=ASKED)
    assert f"record {second.pk} and of record {first.pk} of the same tank" in item.sentence
    entries = approve_all(request_id=request.pk, by=manager, now=LATER)
    assert {one.corrects_id for one in entries} == {first.pk, second.pk}
    # 1.2 gal of 0.75 and 0.5 fl oz a gallon: 0.9 and 0.6 fl oz, 26,616 and 17,744 uL
    assert in_force() == {
        first.label_version_id: ("1.2", 26_616),
        second.label_version_id: ("1.2", 17_744),
    }
    state = load_for(house.technician, Load.objects.get().pk)
    assert state.put_out_ul == 4_542_494
    assert {one.approved_by for one in entries} == {manager} and is_whole(house)
    item.refresh_from_db()
    assert item.closed_at == LATER
    assert LogEntry.objects.filter(kind="correction").count() == 2


def test_stored_whole_or_not_at_all(
    house: House, other: LabelUse, manager: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, _ = both(house, other)
    request = ask(first, house.technician, finished_amount="1.2 gal")
    before, leaves = in_force(), LogEntry.objects.count()
    stored: list[Any] = []
    real = corrections.store_entry

    def second_fails(*args: Any) -> ApplicationRecord:
        stored.append(real(*args))
        if len(stored) == 2:
            raise Refused("test", "The second record cannot be stored.")
        return stored[-1]

    monkeypatch.setattr(corrections, "store_entry", second_fails)
    with pytest.raises(Refused, match="cannot be stored"):
        approve(request_id=request.pk, by=manager, now=LATER)
    assert in_force() == before and LogEntry.objects.count() == leaves
    assert set(CorrectionRequest.objects.values_list("state", flat=True)) == {"asked"}


def test_whichever_of_them_is_named_both_are_decided(
    house: House, other: LabelUse, manager: Person
) -> None:
    first, _ = both(house, other)
    request = ask(first, house.technician, finished_amount="1.2 gal")
    beside = request.others.get()
    assert beside.get_absolute_url() == request.get_absolute_url()
    decline(request_id=beside.pk, reason="It was 1.6.", by=manager, now=LATER)
    assert set(CorrectionRequest.objects.values_list("state", flat=True)) == {"declined"}
    with pytest.raises(Refused, match="before you"):
        approve(request_id=request.pk, by=manager, now=LATER)
    assert not OpenItem.objects.filter(code=ASKED, closed_at=None).exists()


def test_what_is_not_of_the_spray_is_asked_of_one_record(house: House, other: LabelUse) -> None:
    first, _ = both(house, other)
    ask(first, house.technician, notes="North wall twice.")
    assert CorrectionRequest.objects.get().record == first


def test_the_request_of_one_who_asks_anew_is_refused_with_its_sentence(
    house: House, other: LabelUse
) -> None:
    first, second = both(house, other)
    ask(first, house.technician, finished_amount="1.2 gal")
    with pytest.raises(Refused, match="asked for already"):
        ask(second, house.technician, finished_amount="1.2 gal")
    assert CorrectionRequest.objects.count() == 2


def test_a_record_voided_meanwhile_stops_both(
    house: House, other: LabelUse, manager: Person
) -> None:
    first, second = both(house, other)
    request = ask(first, house.technician, finished_amount="1.2 gal")
    voided(second, house.technician, manager)
    with pytest.raises(Refused, match="voided meanwhile"):
        approve(request_id=request.pk, by=manager, now=LATER)
    assert in_force()[first.label_version_id or 0] == ("1.6", 35_488)
    # alone it may be corrected: the other one counts nowhere any more
    decline(request_id=request.pk, reason="Ask again.", by=manager, now=LATER)
    alone = ask(first, house.technician, finished_amount="1.2 gal")
    assert not alone.others.exists()


def test_a_load_of_one_product_is_asked_for_alone(house: House, manager: Person) -> None:
    record = used(house, mixed(house), "1.6").record
    corrected(record, house.technician, manager, finished_amount="1.2 gal")
    assert CorrectionRequest.objects.count() == 1


def test_the_stock_of_both_follows(shelf: Shelf, other: LabelUse) -> None:
    house = shelf.house
    lot = shelf.receive()
    shelf.load(lot, "8")
    first, _ = both(house, other)
    corrected(first, house.technician, shelf.manager, finished_amount="1.2 gal")
    # 8 fl oz aboard less 0.9: 236,588 - 26,616 uL
    assert on_hand([lot.pk])[lot.pk, shelf.truck.pk] == 209_972


def test_the_manager_reads_both_records_on_one_page(
    house: House, other: LabelUse, manager: Person
) -> None:
    first, second = both(house, other)
    request = ask(first, house.technician, finished_amount="1.2 gal")
    client = client_for(manager)
    page = client.get(request.get_absolute_url()).content.decode()
    assert f"Record {second.pk} of the same tank" in page and page.count("Approve it") == 1
    listed = client.get("/corrections/").content.decode()
    assert listed.count("Open<span") == 1 and f"record {second.pk}</a> of the same tank" in listed
    client.post(f"/corrections/{request.pk}/approve/")
    assert {amount for amount, _ in in_force().values()} == {"1.2"}
