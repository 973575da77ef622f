"""A manager types a product and its whole label in the browser; a second one verifies it.

Every field stands where the page shows it: nothing is posted to a page that does not offer it.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest
import time_machine
from django.test import Client

from accounts.models import Branch, Person
from accounts.permissions import Role
from scheduling.models import Visit
from sites.models import Pest, TreatableZone
from tests.factories import (
    client_for,
    make_customer,
    make_person,
    make_property,
    make_visit,
    make_zone,
)
from tests.stories.bad_values import forms_of
from treatments.models import LabelLimit, LabelUse, LabelVersion, Product, ProductIngredient

pytestmark = [pytest.mark.engine, pytest.mark.django_db(transaction=True)]
PRODUCT = {
    "name": "Demonstration K SC", "formulation": "sc", "registration_kind": "section3",
    "registration_number": "EPA Reg. No. 099999-0131", "establishment_number": "99999-OH-1",
    "signal_word": "caution",
}  # fmt: skip
INGREDIENTS = (
    {"common_name": "demothrin", "irac_group": "3A", "percent_by_weight": "5.3",
     "pounds_per_gallon": "0.45"},
    {"common_name": "demoprid", "irac_group": "4A", "percent_by_weight": "10.6",
     "pounds_per_gallon": "0.9"},
)  # fmt: skip
LABEL = {
    "label_date": "2026-10-01", "effective_on": "2026-11-01",
    "protective_equipment": "Gloves and eye protection.", "page_protective_equipment": "p. 2",
    "reentry_text": "Keep people and pets off until dry.", "page_reentry_text": "p. 3",
    "precautions": "Toxic to fish.", "page_precautions": "p. 2", "reentry_minutes": "120",
}  # fmt: skip
BAND = {
    "title": "Outside band", "page": "p. 4", "places": ["foundation_wall", "soil_band"],
    "methods": ["perimeter_band"], "rate_basis": "area", "rate_unit": "fl_oz", "rate_min": "0.5",
    "rate_max": "1", "per_gallon": "1", "mix_basis": "per_finished", "gallons_per_1000": "1",
    "residual_days": "90", "min_interval_days": "21",
}  # fmt: skip
CRACKS = BAND | {"title": "Cracks", "page": "p. 5", "places": ["crack_crevice"],
                 "methods": ["crack_crevice"], "rate_max": "0.8"}  # fmt: skip
WIND = {
    "fact": "wind", "comparison": "at_most", "limit": "10", "severity": "refuse",
    "direction": "", "unit": "", "sentence": "Not in wind above 10 mph.", "page": "p. 6",
}  # fmt: skip
HEIGHT = WIND | {"fact": "height_up", "limit": "3", "direction": "Outside band",
                 "sentence": "3 ft up at most."}  # fmt: skip


def pressed(client: Client, page: str, fields: dict[str, Any]) -> str:
    """Fill the page's form and send it; the address one is led to."""
    shown = client.get(page)
    offered = max(forms_of(shown.content.decode()), key=lambda one: len(one.values)).values
    assert set(fields) <= set(offered), f"{page} does not ask for {set(fields) - set(offered)}"
    answer = client.post(page, fields)
    assert answer.status_code == 302, answer.content.decode()
    return str(answer["Location"])


def linked(client: Client, page: str, *links: str) -> None:
    """The page leads to each address."""
    text = client.get(page).content.decode()
    assert [link for link in links if f'href="{link}"' not in text] == []


def registered(client: Client) -> Product:
    linked(client, "/labels/", "/products/add/", "/pests/")
    page = pressed(client, "/products/add/", PRODUCT)
    product = Product.objects.get(registration_number="99999-131")
    assert page == product.get_absolute_url()
    for ingredient in (*INGREDIENTS, {"common_name": "slip", "percent_by_weight": "1"}):
        linked(client, page, f"{page}ingredients/add/")
        pressed(client, f"{page}ingredients/add/", ingredient)
    slip = ProductIngredient.objects.get(ingredient__common_name="slip")
    assert client.post(f"/ingredients/{slip.pk}/remove/").status_code == 302
    held = [str(row) for row in product.ingredients.order_by("pk")]
    assert held == ["demothrin 5.3 %", "demoprid 10.6 %"]
    return product


def pest_added(client: Client) -> Pest:
    linked(client, "/pests/", "/pests/add/")
    pressed(client, "/pests/add/", {"common_name": "House ant", "group": "ants", "kind": "target"})
    return Pest.objects.get()


def labeled(client: Client, product: Product, pest: Pest) -> LabelVersion:
    linked(client, product.get_absolute_url(), f"/products/{product.pk}/labels/add/")
    page = pressed(client, f"/products/{product.pk}/labels/add/", LABEL)
    version = LabelVersion.objects.get()
    assert page == version.get_absolute_url() and version.is_draft
    parts = ("edit", "directions/add", "limits/add", "protections/add", "files/add")
    linked(client, page, *(f"{page}{part}/" for part in parts))
    for direction in (BAND, CRACKS):
        pressed(client, f"{page}directions/add/", direction | {"pest_ids": [pest.pk]})
    for limit in (WIND, HEIGHT):
        pressed(client, f"{page}limits/add/", limit)
    worn = {"task": "apply", "item": "Gloves", "page": "p. 2"}
    pressed(client, f"{page}protections/add/", worn)
    return version


def mended(client: Client, version: LabelVersion) -> None:
    """A text, a direction, a limit and a piece of equipment are changed in place."""
    page = version.get_absolute_url()
    pressed(client, f"{page}edit/", LABEL | {"precautions": "Toxic to fish and bees."})
    use, limit = LabelUse.objects.get(title="Cracks"), LabelLimit.objects.get(fact="height_up")
    worn = version.protections.get()
    linked(client, page, f"/directions/{use.pk}/edit/", f"/limits/{limit.pk}/edit/")
    pressed(client, f"/directions/{use.pk}/edit/", CRACKS | {"rate_max": "0.75"})
    pressed(client, f"/limits/{limit.pk}/edit/", HEIGHT | {"page": "p. 5"})
    mask = {"task": "overhead", "item": "Eye protection", "page": "p. 2"}
    pressed(client, f"/protections/{worn.pk}/edit/", mask)
    text = client.get(page).content.decode()
    for words in ("Toxic to fish and bees.", "0.75", "Overhead: Eye protection"):
        assert words in text


def mix_page(technician: Person, visit: Visit, zone: TreatableZone) -> str:
    answer = client_for(technician).get(f"/stops/{visit.pk}/mix/?zone={zone.pk}")
    return str(answer.content.decode().replace("\xa0", " "))


def test_a_label_typed_by_hand_is_mixed_by(
    manager: Person, technician: Person, branch_ohio: Branch
) -> None:
    with time_machine.travel("2026-11-24T15:00:00Z", tick=False):
        place = make_property(make_customer(branch_ohio))
        zone = make_zone(place, "Foundation band", run="200", up="3", out="5")
        start = datetime(2026, 11, 24, 15, tzinfo=UTC)
        visit = make_visit(place, technician, start.date(), starts_at=start)
        client = client_for(manager)
        product = registered(client)
        version = labeled(client, product, pest_added(client))
        mended(client, version)
        assert "Demonstration K SC" not in mix_page(technician, visit, zone)
        page = version.get_absolute_url()
        assert client.post(f"{page}complete/").status_code == 302
        second = client_for(make_person([Role.MANAGER], branch_ohio, "Helen Sorrel"))
        linked(second, page, f"{page}verify/")
        assert second.post(f"{page}verify/").status_code == 302
        assert "Verified by Helen Sorrel" in second.get(page).content.decode()
        offered = mix_page(technician, visit, zone)
        assert "Demonstration K SC" in offered and "Outside band" in offered
