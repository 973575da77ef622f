"""One day in a real browser: the office books, a technician records, a manager audits."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from scheduling.models import Renewal, Shift, Visit
from scheduling.rules.demo.people import PASSWORD
from scheduling.rules.demo.places import spreadsheet
from scheduling.rules.visit_states import RenewalState, VisitState
from scheduling.services.demo.days import book_day, morning
from scheduling.services.demo.firm import Firm, make_firm
from scheduling.services.importing import import_accounts
from scheduling.services.planning import plan_day
from scheduling.services.sweep import sweep

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
Axe = Callable[[Page], None]


def today() -> date:
    """The day it is at the demonstration firm."""
    return timezone.localdate(timezone=ZoneInfo("America/New_York"))


@pytest.fixture
def firm(db: None) -> Firm:
    """The invented firm with its spreadsheet read, renewals open and some booked for today."""
    day, now = today(), timezone.now()
    made = make_firm(today=day, now=now)
    raw = spreadsheet(seed=7, today=day)
    import_accounts(raw=raw, file_name="demo.csv", by=None, today=day, now=now)
    sweep(today=day, now=now)
    assert book_day(firm=made, day=day, most=6, now=morning(day, made)).visits
    plan_day(day=day, by=None, now=morning(day, made))
    return made


def test_a_day_of_the_firm(firm: Firm, page_for: Callable[..., Page], axe: Axe) -> None:
    office_books(page_for(None), axe)
    visit = Visit.objects.filter(day=today(), state=VisitState.BOOKED).order_by("pk")[0]
    technician_records(page_for(visit.technician, width=390), axe, visit)
    manager_audits(page_for(firm.manager, scheme="dark"), axe)


def sign_in(page: Page, axe: Axe) -> None:
    page.goto("/renewals/")
    axe(page)
    page.get_by_label(re.compile("e-?mail", re.IGNORECASE)).fill("office@demo.example")
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile("/renewals/$"))


def choose_who_works(page: Page, day: date) -> None:
    """Take a technician who has a shift that day; the one proposed may be off."""
    working = set(Shift.objects.filter(weekday=day.weekday()).values_list("technician", flat=True))
    box = page.get_by_label("Technician", exact=True)
    values = [one.get_attribute("value") for one in box.locator("option").all()]
    for value in values:
        if value and int(value) in working:
            box.select_option(value)
            return


def office_books(page: Page, axe: Axe) -> None:
    sign_in(page, axe)
    axe(page)
    days_left = page.locator(".c-days .sub2").all_inner_texts()
    assert days_left, "no renewals are listed"
    book = page.get_by_role("link", name=re.compile("^Book by hand")).first
    booking = book.get_attribute("href") or ""
    page.locator(".c-prop a").first.click()
    expect(page.get_by_role("heading", name="Residual line")).to_be_visible()
    axe(page)
    page.goto(booking)
    axe(page)
    tomorrow = today() + timedelta(days=1)
    page.get_by_label("Day", exact=True).fill((today() - timedelta(days=1)).isoformat())
    page.get_by_label("Arrival from").fill("08:00")
    page.get_by_label("Arrival until").fill("17:00")
    page.get_by_role("button", name="Book this visit").click()
    # refused with a sentence, and what was typed is still there
    expect(page.locator(".note.stop, [role=alert]").first).to_be_visible()
    expect(page.get_by_label("Arrival until")).to_have_value(re.compile("17:00"))
    axe(page)
    page.get_by_label("Day", exact=True).fill(tomorrow.isoformat())
    choose_who_works(page, tomorrow)
    page.get_by_role("button", name="Book this visit").click()
    page.wait_for_load_state()
    renewal_pk = int(booking.split("/")[2])
    assert Renewal.objects.get(pk=renewal_pk).state == RenewalState.BOOKED
    page.goto(f"/day/?date={tomorrow.isoformat()}")
    expect(page.locator("main")).to_contain_text("Booked")
    axe(page)
    visit = Visit.objects.filter(renewal_id=renewal_pk).latest("pk")
    finds(page, axe, visit)


def finds(page: Page, axe: Axe, visit: Visit) -> None:
    """Look the property up by its street and open the visit booked there."""
    page.goto("/renewals/")
    page.get_by_role("searchbox").fill(visit.property.street)
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile("/search/"))
    axe(page)
    page.get_by_role("main").get_by_role("link", name=visit.property.street).first.click()
    expect(page.get_by_role("heading", name="Residual line")).to_be_visible()
    page.goto(visit.get_absolute_url())
    expect(page.locator("main")).to_contain_text(visit.technician.full_name)
    axe(page)


def technician_records(page: Page, axe: Axe, visit: Visit) -> None:
    page.goto("/today/")
    axe(page)
    page.locator(f'.stops a[href="/stops/{visit.pk}/"]').click()
    axe(page)
    page.get_by_role("button", name="Start this stop").click()
    page.get_by_role("link", name="Choose zones and product").click()
    zones = visit.renewal.zones.select_related("zone").order_by("pk") if visit.renewal else []
    zone = next(row.zone for row in zones if row.zone.place == "foundation_wall")
    page.locator(f'input[name=zone][value="{zone.pk}"]').check()
    page.get_by_label("Direction for use").select_option(
        label="Demonstration A SC: Foundation wall and soil band"
    )
    page.get_by_role("button", name=re.compile("Check the label")).first.click()
    expect(page.locator("main")).to_contain_text("Allowed")
    expect(page.get_by_role("heading", name="Fill order")).to_be_visible()
    axe(page)
    page.get_by_role("link", name="Record what was applied").click()
    axe(page)
    page.get_by_label("Product used").fill("lots")
    page.get_by_role("button", name="Save this record").click()
    # letters for a number: a sentence, nothing lost
    expect(page.locator("[role=alert]").first).to_be_visible()
    expect(page.get_by_label("Product used")).to_have_value("lots")
    page.get_by_label("Product used").fill("0.5")
    page.get_by_label("Unit of the product").select_option("fl_oz")
    page.get_by_label("Finished spray used").fill("1")
    page.get_by_label(re.compile("I wore")).check()
    page.get_by_role("button", name="Save this record").click()
    expect(page.locator("main")).to_contain_text("Demonstration A SC")
    visit.refresh_from_db()
    assert visit.state == VisitState.DONE
    axe(page)
    paper = page.request.get(f"/visits/{visit.pk}/notice.pdf")
    assert paper.body().startswith(b"%PDF")


def manager_audits(page: Page, axe: Axe) -> None:
    page.goto("/use-log/")
    expect(page.locator("main")).to_contain_text("0.50 fl oz")
    axe(page)
    page.get_by_label("Product", exact=True).select_option("Demonstration A SC")
    page.get_by_role("button", name="Show").click()
    with page.expect_download() as download:
        page.get_by_role("link", name=re.compile("CSV")).click()
    rows = download.value.path().read_text().splitlines()
    assert len(rows) == 2
    assert "99999-101" in rows[1]
    page.locator("tbody th a").first.click()
    expect(page.get_by_role("heading", name=re.compile("What was done"))).to_be_visible()
    axe(page)
    page.goto("/log/")
    page.get_by_role("button", name=re.compile("Verify")).click()
    expect(page.locator("main")).to_contain_text("Every log agrees with its records")
    axe(page)
