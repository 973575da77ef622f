"""Keys of another branch in every form of stock, equipment, vehicles, rates and loads.

Who may edit branches works for all of them; everybody else finds nothing there, and what belongs
to two branches at once is refused to anybody. Nothing is stored.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

import pytest

from accounts.models import Branch, Person
from accounts.permissions import Role
from tests.factories import client_for, make_license, make_person
from tests.treatments.conftest import NOW, House
from tests.treatments.load_cases import mixing
from tests.treatments.stock_cases import Shelf, shelf
from treatments.models import (
    Calibration,
    Equipment,
    FirmRate,
    Load,
    LoadRest,
    ProductLot,
    StockMove,
    StockPlace,
    VehicleCheck,
)
from treatments.services.equipment import add_equipment
from treatments.services.loads import mix_load
from treatments.services.stock_places import add_place

__all__ = ["shelf"]
pytestmark = pytest.mark.django_db
TABLES = (
    *(Calibration, Equipment, FirmRate, Load, LoadRest, ProductLot, StockMove, StockPlace),
    VehicleCheck,
)
NOWHERE = 99_999_999


@dataclass(frozen=True)
class Away:
    """What the other branch has."""

    branch: Branch
    driver: Person
    store: StockPlace
    truck: StockPlace
    lot: ProductLot
    can: Equipment
    load: Load


@pytest.fixture
def away(shelf: Shelf, branch_penn: Branch) -> Away:
    driver = make_person([Role.TECHNICIAN], branch_penn, "Pat Pennsylvania")
    make_license(driver, "PA")
    by = shelf.manager
    store = add_place(branch_id=branch_penn.pk, kind="store", name="Away", by=by)
    truck = add_place(
        branch_id=branch_penn.pk, kind="vehicle", name="Truck 9", technician_id=driver.pk, by=by
    )
    can = add_equipment(
        branch_id=branch_penn.pk, name="Can 9", kind="hand_can", tank_gal=Decimal(1), by=by
    )
    load = mix_load(mixing=mixing(shelf.house), by=driver, now=NOW)
    return Away(
        branch_penn, driver, store, truck, shelf.receive("L-9", place_id=store.pk), can, load
    )


@pytest.fixture
def unchanged(away: Away) -> Iterator[None]:
    """Nothing of the tables is added, changed or lost."""
    before = [list(table._default_manager.order_by("pk").values()) for table in TABLES]
    yield
    assert [list(table._default_manager.order_by("pk").values()) for table in TABLES] == before


PAGES = (
    "/stock/lots/{lot}/", "/stock/vehicles/{truck}/", "/equipment/{can}/", "/stock/loads/{load}/",
    "/load-list/?technician={driver}",
)  # fmt: skip
FORMS = (
    "/stock/lots/{lot}/transfer/", "/stock/lots/{lot}/count/", "/stock/lots/{lot}/dispose/",
    "/stock/places/{store}/edit/", "/equipment/{can}/edit/", "/equipment/{can}/calibrate/",
    "/stock/loads/{load}/end/", "/stock/vehicles/{truck}/check/",
)  # fmt: skip


def filled(path: str, away: Away) -> str:
    names = ("lot", "truck", "can", "load", "driver", "store")
    return path.format(**{name: getattr(away, name).pk for name in names})


@pytest.mark.parametrize("path", PAGES[:-1])
def test_the_office_finds_nothing_of_another_branch(
    away: Away, office: Person, unchanged: None, path: str
) -> None:
    assert client_for(office).get(filled(path, away)).status_code == 404


def test_the_load_list_of_another_branch_is_not_shown(
    away: Away, office: Person, unchanged: None
) -> None:
    answer = client_for(office).get(filled(PAGES[-1], away))
    assert answer.status_code == 404 or "Pat Pennsylvania" not in answer.content.decode()


@pytest.mark.parametrize("path", FORMS)
@pytest.mark.parametrize("role", ["office", "technician"])
def test_nobody_sends_a_form_about_another_branch(
    away: Away, house: House, office: Person, unchanged: None, role: str, path: str
) -> None:
    person = office if role == "office" else house.technician
    answer = client_for(person).post(filled(path, away), {"name": "Mine now"})
    assert answer.status_code in (403, 404)


def test_a_technician_takes_no_lot_of_another_branch(
    away: Away, house: House, unchanged: None
) -> None:
    typed = {"lot": f"{away.lot.pk}-{away.store.pk}", "amount": "1", "unit": "fl_oz"}
    assert client_for(house.technician).post("/stock/take/", typed).status_code == 422


@pytest.mark.parametrize(
    "case", ["transfer out", "dispose there", "count there", "driver", "branch", "place"]
)
def test_a_manager_mixes_no_two_branches(
    away: Away, shelf: Shelf, unchanged: None, case: str
) -> None:
    own = shelf.house.place.branch_id
    lot = away.lot
    amount = {"amount": "1", "unit": "fl_oz"}
    path, typed = {
        "transfer out": (
            f"/stock/lots/{away.lot.pk}/transfer/",
            {"from_place": away.store.pk, "to_place": shelf.store.pk, **amount},
        ),
        "dispose there": (
            f"/stock/lots/{lot.pk}/dispose/",
            {"place": shelf.store.pk, "how": "x", "where": "y", **amount},
        ),
        "count there": (
            f"/stock/lots/{lot.pk}/count/",
            {"place": shelf.store.pk, "reason": "x", **amount},
        ),
        "driver": (
            "/stock/places/add/",
            {"branch": own, "kind": "vehicle", "name": "T", "technician": away.driver.pk},
        ),
        "branch": (
            "/equipment/add/",
            {"branch": NOWHERE, "name": "Can", "kind": "hand_can", "tank_gal": "1"},
        ),
        "place": (
            "/stock/receive/",
            {
                "label_version": shelf.house.use.label_version_id, "place": NOWHERE,
                "lot_number": "L-1", "containers": "1", "container_size": "1",
                "container_unit": "fl_oz", "received_on": "2026-11-01", "dealer": "D",
            },
        ),
    }[case]  # fmt: skip
    answer = client_for(shelf.manager).post(path, typed)
    assert answer.status_code == 422, answer.content.decode()[:300]


@pytest.mark.parametrize(
    "path",
    [
        f"/equipment/{NOWHERE}/calibrate/", f"/equipment/{NOWHERE}/edit/",
        f"/stock/places/{NOWHERE}/edit/", f"/stock/lots/{NOWHERE}/transfer/",
        f"/stock/loads/{NOWHERE}/end/", f"/directions/{NOWHERE}/rate/",
        f"/stock/moves/{NOWHERE}/take-back/",
    ],
)  # fmt: skip
def test_a_manager_finds_no_row_that_is_not_there(
    manager: Person, unchanged: None, path: str
) -> None:
    assert client_for(manager).post(path, {}).status_code == 404


@pytest.mark.parametrize("role", ["office", "technician"])
def test_only_who_may_chooses_the_rate_of_the_firm(
    house: House, office: Person, unchanged: None, role: str
) -> None:
    """A rate is the firm's, of every branch: there is no other branch's."""
    person = office if role == "office" else house.technician
    answer = client_for(person).post(f"/directions/{house.use.pk}/rate/", {"rate": "middle"})
    assert answer.status_code == 403
