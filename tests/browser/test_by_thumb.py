"""A stop by thumb on a phone of 390 px: every tap counted, nothing wider than the screen."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from accounts.models import Person
from scheduling.models import Visit
from scheduling.rules.visit_states import RenewalState, VisitState
from tests.browser.due import due_now, today
from tests.browser.thumb import Thumb
from tests.factories import make_label, make_visit
from treatments.models import LabelUse

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
MOST_TAPS = 14  # a routine service outside with one product; house rule


@pytest.fixture
def visit(technician: Person) -> Visit:
    renewal = due_now(technician)
    renewal.state = RenewalState.BOOKED
    renewal.save()
    now = timezone.now()
    opens = now.replace(microsecond=0)
    return make_visit(
        renewal.property,
        technician,
        today(),
        renewal=renewal,
        window_opens_at=opens,
        window_closes_at=opens + timedelta(hours=2),
    )


@pytest.fixture
def direction(db: None) -> LabelUse:
    return make_label()


def test_a_stop_from_today_to_done(
    visit: Visit,
    direction: LabelUse,
    technician: Person,
    page_for: Callable[..., Page],
    axe: Callable[[Page], None],
) -> None:
    page = page_for(technician, width=390)
    thumb = Thumb(page)
    page.goto("/today/")
    thumb.press("Open Nadia Castellane")
    thumb.press("Start this stop")
    thumb.press("Choose zones and product")
    thumb.tap(page.locator("label", has_text="Foundation band"))
    product = direction.label_version.product.name
    thumb.choose("Direction for use", f"{product}: {direction.title}")
    thumb.tap(page.locator(".bar").get_by_role("button", name="Check the label"))
    thumb.press("Record what was applied")
    thumb.fill("Product used", "0.4")
    thumb.fill("Finished spray used", "0.6")
    thumb.press("Save this record")
    expect(page.locator("main")).to_contain_text("Recorded at this stop")
    axe(page)
    visit.refresh_from_db()
    assert visit.state == VisitState.DONE
    assert thumb.taps <= MOST_TAPS
    print(f"\n{thumb.taps} taps from today to done")


def test_a_second_load_of_the_same_mix(
    visit: Visit,
    direction: LabelUse,
    technician: Person,
    page_for: Callable[..., Page],
    axe: Callable[[Page], None],
) -> None:
    page = page_for(technician, width=390)
    thumb = Thumb(page)
    band = visit.property.zones.first()
    assert band is not None
    page.goto(f"/stops/{visit.pk}/mix/?zone={band.pk}&use={direction.pk}&tank=1")
    thumb.press("Record what was applied")
    thumb.fill("Product used", "0.1")
    thumb.fill("Finished spray used", "0.2")
    thumb.tap(page.get_by_label("another load of the same follows"))
    thumb.press("Save this record")
    expect(page.locator("main")).to_contain_text("The mix is for the rest")
    axe(page)
    page.goto(f"/stops/{visit.pk}/")
    thumb.press("Another load of it")
    expect(page.locator("main")).to_contain_text("The mix is for the rest")
    page.go_back()
    axe(page)
