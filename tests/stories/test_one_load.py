"""One tank from the first stop to the last: three are served, two refused, the rest disposed of.

The band of 200 ft, 3 ft up and 5 ft out takes 1.6 gal with 1.6 fl oz in it (derived; units: NIST
Handbook 44, Appendix C). Nothing is mocked but the clock.
"""

from __future__ import annotations

import uuid
from datetime import UTC, date, datetime
from typing import Any

import pytest
import time_machine
from django.http import HttpResponse
from django.test import Client

from accounts.models import OpenItem, Person
from scheduling.models import Visit
from scheduling.rules.visit_states import VisitState
from tests.factories import (
    client_for,
    make_customer,
    make_label,
    make_pest,
    make_product,
    make_property,
    make_visit,
    make_zone,
)
from treatments.models import (
    ApplicationRecord,
    LabelLimit,
    LabelUse,
    Load,
    LoadRest,
    LogEntry,
    ProductLot,
    StockMove,
    StockPlace,
)
from treatments.selectors.log import verify
from treatments.selectors.stock import on_hand
from treatments.services.stock import receive_lot
from treatments.services.stock_places import add_place

pytestmark = [pytest.mark.engine, pytest.mark.django_db(transaction=True)]
DAY = date(2026, 11, 25)
# 6 gal and 6 fl oz, in uL
LOAD_UL, PRODUCT_UL = 22_712_471, 177_441
# 1.6 gal put out, and 1.6 fl oz in it
USE_UL, USE_PRODUCT_UL = 6_056_659, 47_318


@pytest.fixture
def direction() -> LabelUse:
    """1 fl oz and 1 gal per 1,000 sq ft on foundation walls; a mixed load lasts four hours."""
    use = make_label(
        make_product("Demonstration A SC", registration_number="99999-101"),
        pests=[make_pest("Brown marmorated stink bug")],
        use={"rate_max": 1, "per_gallon": 1},
    )
    LabelLimit.objects.create(
        label_version=use.label_version, fact="mixed_hours", comparison="at_most", limit=4,
        severity="refuse", sentence="Use within 4 hours of mixing.", page="p. 6",
    )  # fmt: skip
    return use


@pytest.fixture
def truck(technician: Person) -> StockPlace:
    """The technician's vehicle."""
    return add_place(
        branch_id=technician.branch_id, kind="vehicle", name="Truck 4",
        technician_id=technician.pk, by=None,
    )  # fmt: skip


@pytest.fixture
def lot(truck: StockPlace, direction: LabelUse) -> ProductLot:
    """One bottle of 32 fl oz on the truck."""
    return receive_lot(
        place_id=truck.pk, label_version_id=direction.label_version_id, lot_number="L-1",
        container_size="32", container_unit="fl_oz", containers=1, received_on=DAY,
        dealer="Demonstration Supply", by=None, now=datetime(2026, 11, 25, 12, tzinfo=UTC),
    )  # fmt: skip


def stop_at(technician: Person, street: str, hour: int, place: str = "foundation_wall") -> Visit:
    """A visit today with one zone of 1,600 sq ft."""
    home = make_property(make_customer(technician.branch), street)
    make_zone(home, "Band", run="200", up="3", out="5", place=place)
    return make_visit(home, technician, DAY, hour=hour)


def choice(visit: Visit, direction: LabelUse) -> str:
    return f"?zone={visit.property.zones.get().pk}&use={direction.pk}&tank=6"


def recorded(
    client: Client, visit: Visit, direction: LabelUse, clock: tuple[str, str], **typed: str
) -> HttpResponse:
    form = {"client_ref": str(uuid.uuid4()), "product_amount": "", "product_unit": "fl_oz"}
    form |= {"finished_amount": "1.6", "finished_unit": "gal", "ending": "finish"}
    form |= {"protective_equipment": "on", "started": clock[0], "finished": clock[1]}
    return client.post(f"/stops/{visit.pk}/record/{choice(visit, direction)}", form | typed)


def words(answer: Any) -> str:
    return answer.content.decode().replace("\xa0", " ")


def test_one_load_serves_three_stops(
    technician: Person, direction: LabelUse, lot: ProductLot, truck: StockPlace
) -> None:
    stops = [stop_at(technician, f"{n} Mill Road", 13 + n) for n in range(1, 4)]
    eaves = stop_at(technician, "8 Mill Road", 18, place="eave_soffit")
    late = stop_at(technician, "9 Mill Road", 20)
    client = client_for(technician)
    with time_machine.travel("2026-11-25T14:30:00Z", tick=False):
        load = mixed(client, stops[0], direction, lot)
    for hour, visit in zip((15, 16, 17), stops, strict=True):
        with time_machine.travel(f"2026-11-25T{hour}:30:00Z", tick=False):
            served(client, visit, direction, load, hour - 5)
    with time_machine.travel("2026-11-25T18:20:00Z", tick=False):
        refused(client, eaves, direction, load, ("13:05", "13:15"), "may not be used here. Eave")
    with time_machine.travel("2026-11-25T21:00:00Z", tick=False):
        over = "The time to use this load was over at 1:25 PM on Nov 25"
        refused(client, late, direction, load, ("15:30", "15:50"), over)
        disposed_of(client, load)
    whole(load, lot, truck)


def mixed(client: Client, visit: Visit, direction: LabelUse, lot: ProductLot) -> Load:
    """6 fl oz in 6 gal at 9:25 in the morning; the tap that is sent twice mixes once."""
    form = {"client_ref": str(uuid.uuid4()), "product_amount": "6", "product_unit": "fl_oz"}
    form |= {"finished_amount": "6", "finished_unit": "gal", "mixed": "09:25", "lot": str(lot.pk)}
    for _ in range(2):
        answer = client.post(f"/stops/{visit.pk}/mix/load/{choice(visit, direction)}", form)
        assert answer.status_code == 302, words(answer)
    load = Load.objects.get()
    assert (load.finished_ul, load.product_ul, load.use_within_hours) == (LOAD_UL, PRODUCT_UL, 4)
    assert "Use by 1:25 PM on Nov 25, 3 h 55 min left" in words(client.get("/today/"))
    return load


def served(client: Client, visit: Visit, direction: LabelUse, load: Load, hour: int) -> None:
    clock = (f"{hour:02}:05", f"{hour:02}:25")
    answer = recorded(client, visit, direction, clock, load=load.ref)
    assert answer.status_code == 302, words(answer)
    visit.refresh_from_db()
    assert visit.state == VisitState.DONE


def refused(
    client: Client,
    visit: Visit,
    direction: LabelUse,
    load: Load,
    clock: tuple[str, str],
    sentence: str,
) -> None:
    before = LogEntry.objects.count()
    answer = recorded(client, visit, direction, clock, load=load.ref)
    assert answer.status_code == 422
    assert sentence in words(answer)
    visit.refresh_from_db()
    assert (visit.state, LogEntry.objects.count()) == (VisitState.BOOKED, before)


def disposed_of(client: Client, load: Load) -> None:
    """6 gal less three times 1.6 gal: 1.2 gal."""
    page = words(client.get(f"/loads/{load.pk}/"))
    assert "1.20 gal left" in page
    form = {"client_ref": str(uuid.uuid4()), "kind": "disposed", "amount": "1.2", "unit": "gal"}
    form |= {"how": "Put out on a labeled site", "where": "Depot, gravel strip"}
    for _ in range(2):
        assert client.post(f"/loads/{load.pk}/", form).status_code == 302
    assert "Loads on board" not in words(client.get("/today/"))


def whole(load: Load, lot: ProductLot, truck: StockPlace) -> None:
    """Uses and rest are the load, logged use is what left stock, and the log verifies."""
    records = ApplicationRecord.objects.filter(load_ref=load.ref)
    assert [(one.finished_ul, one.product_ul) for one in records] == [(USE_UL, USE_PRODUCT_UL)] * 3
    rest = LoadRest.objects.get()
    # 1.2 gal is 4,542,494.1 uL
    assert 3 * USE_UL + rest.ul == LOAD_UL
    assert (OpenItem.objects.count(), rest.difference_ul) == (0, 0)
    moves = StockMove.objects.exclude(kind="receive")
    assert [move.ul for move in moves.filter(kind="use")] == [USE_PRODUCT_UL] * 3
    gone = moves.get(kind="dispose")
    # each of the four amounts of product is rounded once
    assert abs(3 * USE_PRODUCT_UL + gone.ul - PRODUCT_UL) <= 2
    received = StockMove.objects.get(kind="receive").ul
    assert on_hand([lot.pk])[lot.pk, truck.pk] == received - sum(move.ul for move in moves)
    found = verify(load.branch_id)
    # three records, the mixing and the end of the load
    assert (found.is_whole, found.size) == (True, 5)
