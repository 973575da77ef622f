"""A refusal names what is allowed, and following it gives an allowed mix."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from html import unescape
from urllib.parse import parse_qs

import pytest
import time_machine
from django.test import Client

from accounts.models import Branch, Person
from scheduling.models import Visit
from sites.models import Pest, TreatableZone
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
from treatments.models import ActiveIngredient, LabelLimit, LabelUse, ProductIngredient, StockPlace
from treatments.services.stock import receive_lot
from treatments.services.stock_places import add_place

pytestmark = pytest.mark.django_db
NOON = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Patio:
    """A stop with a concrete patio edge; the label first chosen allows no band there."""

    visit: Visit
    zone: TreatableZone
    refused: LabelUse
    client: Client

    def open(self, query: str) -> str:
        answer = self.client.get(f"/stops/{self.visit.pk}/mix/{query}")
        assert answer.status_code == 200
        return answer.content.decode().replace("\xa0", " ")

    def band(self) -> str:
        return self.open(f"?zone={self.zone.pk}&use={self.refused.pk}&method=perimeter_band&tank=1")


@pytest.fixture(autouse=True)
def _noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def patio(branch_ohio: Branch, technician: Person, manager: Person) -> Patio:
    ants = make_pest("Odorous house ant", "ants")
    truck = add_place(
        branch_id=branch_ohio.pk,
        kind="vehicle",
        name="Truck 4",
        technician_id=technician.pk,
        by=manager,
    )
    refused = labeled("Demonstration A SC", "3A", ants, ["perimeter_band", "spot"])
    no_band_on_concrete(refused)
    others = [
        labeled(name, group, ants, ["perimeter_band"])
        for name, group in (("Demonstration B EC", "3A"), ("Demonstration Z SC", "4A"))
    ]
    for use in (refused, *others):
        carried(use, truck, manager)
    labeled("Demonstration Q SC", "4A", ants, ["perimeter_band"])  # nobody has it here
    place = make_property(make_customer(branch_ohio, "Marta Ellwood"))
    zone = make_zone(place, "Patio edge", surface="impervious")
    return Patio(make_visit(place, technician), zone, refused, client_for(technician))


def labeled(name: str, group: str, pest: Pest, methods: list[str]) -> LabelUse:
    """A product of one ingredient, for walls, by these methods."""
    product = make_product(name)
    ProductIngredient.objects.create(
        product=product,
        ingredient=ActiveIngredient.objects.create(common_name=name, irac_group=group),
        percent_by_weight=Decimal(5),
        pounds_per_gallon=Decimal("0.4"),
    )
    return make_label(product, pests=[pest], use={"methods": methods})


def no_band_on_concrete(use: LabelUse) -> None:
    LabelLimit.objects.create(
        label_version=use.label_version,
        fact="impervious_horizontal",
        comparison="forbidden",
        limit=0,
        severity="refuse",
        sentence="No band on impervious horizontal surfaces.",
        page="p. 6",
    )


def carried(use: LabelUse, truck: StockPlace, manager: Person) -> None:
    receive_lot(
        place_id=truck.pk,
        label_version_id=use.label_version_id,
        lot_number=f"L-{use.pk}",
        container_size="32",
        container_unit="fl_oz",
        containers=1,
        received_on=date(2026, 11, 1),
        dealer="Demonstration Supply",
        by=manager,
        now=NOON,
    )


def instead(page: str) -> list[tuple[str, str]]:
    """Name and address of every choice a refusal offers, in their order."""
    part = page.partition("Allowed instead")[2].partition("</section>")[0]
    links = re.findall(r'<a href="([^"]+)"><span><b>([^<]+)</b>', part)
    return [(name, unescape(address)) for address, name in links]


def test_the_refusal_names_what_is_allowed(patio: Patio) -> None:
    page = patio.band()
    assert "Patio edge is concrete or asphalt; the label allows no band there." in page
    # the label's own spot, then what is on the truck: another ingredient group before the same
    assert [name for name, _ in instead(page)] == [
        "Spot",
        "Demonstration Z SC",
        "Demonstration B EC",
    ]
    assert "Other products on your truck" in page
    assert "IRAC group 4A" in page


def test_following_a_choice_gives_an_allowed_mix(patio: Patio) -> None:
    for name, address in instead(patio.band()):
        page = patio.open(address)
        assert '<span class="w ok">Allowed</span>' in page, name
        assert "Allowed instead" not in page
        # 120 ft x (2 + 3) ft = 600 sq ft at 0.8 fl oz per 1,000 less 5 %: 0.456, rounded down
        assert "0.45 fl oz" in page
        assert "Patio edge, 600 sq ft" in page
        assert "Odorous house ant" in page


def test_no_choice_carries_what_was_said_of_the_refused_one(patio: Patio) -> None:
    LabelLimit.objects.create(
        label_version=patio.refused.label_version, fact="hive_distance", comparison="at_least",
        limit=30, severity="refuse", sentence="Keep away from hives.", page="p. 6",
    )  # fmt: skip
    said = "&rate=most&reason=Cracked+slab&measure=mL-5&ask_hive_distance=yes"
    beside = LabelUse.objects.get(label_version__product__name="Demonstration B EC")
    page = patio.open(
        f"?zone={patio.zone.pk}&use={patio.refused.pk}&method=perimeter_band&tank=2"
        f"&also={beside.pk}{said}"
    )
    assert "at least 30 ft away? Answered: yes" in page
    links = instead(page)
    assert len(links) == 3
    for name, address in links:
        asked = parse_qs(address.removeprefix("?"))
        assert set(asked) == {"zone", "pest", "use", "method", "tank"}, name
        assert asked["tank"] == ["2"], "the tank in the hand stays the same"


def test_where_nothing_passes_the_page_says_so(patio: Patio) -> None:
    patio.visit.technician.licenses.all().delete()
    page = patio.band()
    assert instead(page) == []
    assert "no other product on your truck passes" in page
