"""A tank of two products serves two stops; the rest is disposed of and the stock agrees.

The band of 200 ft, 3 ft up and 5 ft out takes 1.6 gal (derived; units: NIST Handbook 44,
Appendix C). Nothing is mocked but the clock.
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
from scheduling.models import Visit, VisitApplication
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
    LabelUse,
    Load,
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
Pair = tuple[LabelUse, LabelUse]


@pytest.fixture
def pair() -> Pair:
    """1 fl oz and 0.5 fl oz in 1 gal per 1,000 sq ft, both on foundation walls."""
    pests = [make_pest("Brown marmorated stink bug")]
    first = make_label(
        make_product("Demonstration A SC", registration_number="99999-101"),
        pests=pests,
        use={"rate_max": 1, "per_gallon": 1},
    )
    second = make_label(
        make_product("Demonstration D EC", registration_number="99999-104"),
        pests=pests,
        use={"rate_min": "0.4", "rate_max": "0.5", "per_gallon": "0.5"},
    )
    return first, second


@pytest.fixture
def truck(technician: Person) -> StockPlace:
    """The technician's vehicle."""
    return add_place(
        branch_id=technician.branch_id, kind="vehicle", name="Truck 4",
        technician_id=technician.pk, by=None,
    )  # fmt: skip


@pytest.fixture
def lots(truck: StockPlace, pair: Pair) -> list[ProductLot]:
    """One bottle of 32 fl oz of each on the truck."""
    return [
        receive_lot(
            place_id=truck.pk, label_version_id=use.label_version_id, lot_number=f"L-{number}",
            container_size="32", container_unit="fl_oz", containers=1, received_on=DAY,
            dealer="Demonstration Supply", by=None, now=datetime(2026, 11, 25, 12, tzinfo=UTC),
        )
        for number, use in enumerate(pair, 1)
    ]  # fmt: skip


def stop_at(technician: Person, street: str, hour: int) -> Visit:
    home = make_property(make_customer(technician.branch), street)
    make_zone(home, "Band", run="200", up="3", out="5", place="foundation_wall")
    return make_visit(home, technician, DAY, hour=hour)


def choice(visit: Visit, pair: Pair, also: bool = True) -> str:
    beside = f"&also={pair[1].pk}" if also else ""
    return f"?zone={visit.property.zones.get().pk}&use={pair[0].pk}&tank=4{beside}"


def words(answer: Any) -> str:
    return answer.content.decode().replace("\xa0", " ")


def mixed(client: Client, visit: Visit, pair: Pair, lots: list[ProductLot], **typed: str) -> Any:
    """3 fl oz and 2 fl oz in 4 gal at 9:25."""
    form = {"client_ref": str(uuid.uuid4()), "product_amount": "3", "product_unit": "fl_oz"}
    form |= {"also_amount": "2", "also_unit": "fl_oz", "also_lot": str(lots[1].pk)}
    form |= {"finished_amount": "4", "finished_unit": "gal", "mixed": "09:25"}
    form |= {"lot": str(lots[0].pk)} | typed
    return client.post(f"/stops/{visit.pk}/mix/load/{choice(visit, pair)}", form)


def recorded(
    client: Client, visit: Visit, query: str, load: Load, hour: str, **typed: str
) -> HttpResponse:
    form = {"client_ref": str(uuid.uuid4()), "product_amount": "", "product_unit": "fl_oz"}
    form |= {"finished_amount": "1.6", "finished_unit": "gal", "ending": "finish"}
    form |= {"protective_equipment": "on", "started": f"{hour}:05", "finished": f"{hour}:25"}
    form |= {"load": load.ref} | typed
    answers = [client.post(f"/stops/{visit.pk}/record/{query}", form) for _ in range(2)]
    # the tap that is sent twice stores once
    assert answers[0].status_code == 422 or answers[1].status_code == 302
    return answers[0]


def test_a_tank_of_two_products_serves_two_stops(
    technician: Person, pair: Pair, lots: list[ProductLot], truck: StockPlace
) -> None:
    stops = [stop_at(technician, f"{n} Mill Road", 13 + n) for n in (1, 2)]
    client = client_for(technician)
    with time_machine.travel("2026-11-25T14:30:00Z", tick=False):
        page = words(client.get(f"/stops/{stops[0].pk}/mix/{choice(stops[0], pair)}"))
        assert "Demonstration D EC, undiluted" in page
        too_strong = mixed(client, stops[0], pair, lots, also_amount="2.1")
        assert too_strong.status_code == 422
        assert "the most is" in words(too_strong)
        answer = mixed(client, stops[0], pair, lots)
        assert answer.status_code == 302, words(answer)
    load = Load.objects.get()
    for hour, visit in zip((15, 16), stops, strict=True):
        with time_machine.travel(f"2026-11-25T{hour}:30:00Z", tick=False):
            served(client, visit, pair, load, f"{hour - 5:02}")
    with time_machine.travel("2026-11-25T18:00:00Z", tick=False):
        disposed_of(client, load)
    whole(load, lots, truck)


def served(client: Client, visit: Visit, pair: Pair, load: Load, hour: str) -> None:
    before = LogEntry.objects.count()
    alone = recorded(client, visit, choice(visit, pair, also=False), load, hour)
    assert alone.status_code == 422
    assert "both are recorded together" in words(alone)
    assert LogEntry.objects.count() == before
    offered = words(client.get(f"/stops/{visit.pk}/mix/{choice(visit, pair)}"))
    assert "Record from the load of" in offered
    answer = recorded(client, visit, choice(visit, pair), load, hour)
    assert answer.status_code == 302, words(answer)
    visit.refresh_from_db()
    assert visit.state == VisitState.DONE
    assert LogEntry.objects.count() == before + 2
    assert VisitApplication.objects.filter(visit=visit).count() == 2


def disposed_of(client: Client, load: Load) -> None:
    """4 gal less two times 1.6 gal: 0.8 gal."""
    page = words(client.get(f"/loads/{load.pk}/"))
    assert "Demonstration A SC and Demonstration D EC: 0.80 gal left" in page
    assert "0.75 fl oz of Demonstration A SC and 0.50 fl oz of Demonstration D EC" in page
    assert "1.20 fl oz of Demonstration A SC</span>" in page
    form = {"client_ref": str(uuid.uuid4()), "kind": "disposed", "amount": "0.8", "unit": "gal"}
    form |= {"how": "Put out on a labeled site", "where": "Depot, gravel strip"}
    assert client.post(f"/loads/{load.pk}/", form).status_code == 302


def whole(load: Load, lots: list[ProductLot], truck: StockPlace) -> None:
    """For each product, logged use and the rest are what left stock; the log verifies."""
    assert OpenItem.objects.count() == 0
    for row, lot in zip(load.products, lots, strict=True):
        records = ApplicationRecord.objects.filter(label_version=row.label_version)
        moves = StockMove.objects.filter(lot=lot)
        used = [move.ul for move in moves.filter(kind="use")]
        assert used == [record.product_ul for record in records.order_by("pk")]
        gone = sum(move.ul for move in moves.filter(kind="dispose"))
        # each of the three amounts of product is rounded once
        assert abs(sum(used) + gone - row.product) <= 2
        received = moves.get(kind="receive").ul
        assert on_hand([lot.pk])[lot.pk, truck.pk] == received - sum(used) - gone
    found = verify(load.branch_id)
    # four records, the mixing and the end of the load
    assert (found.is_whole, found.size) == (True, 6)
