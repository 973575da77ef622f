"""A round by thumb at 390 px: what is clear in one tap, a measured gap with a photo, the end."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from accounts.models import Person
from sites.models import Finding, Inspection
from tests.browser.due import today
from tests.browser.thumb import Thumb
from tests.factories import make_customer, make_property, make_visit
from tests.inspection_cases import picture

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
MOST_TAPS = 12  # a round with one finding, house rule


def test_a_round_with_a_gap_and_a_photo(
    technician: Person, page_for: Callable[..., Page], axe: Callable[[Page], None]
) -> None:
    visit = make_visit(make_property(make_customer(technician.branch)), technician, today())
    page = page_for(technician, width=390)
    thumb = Thumb(page)
    page.goto(f"/stops/{visit.pk}/")
    thumb.tap(page.get_by_role("button", name="Inspect", exact=True))
    thumb.tap(page.get_by_role("link", name="Add a finding at Doors and thresholds"))
    thumb.tap(page.locator("label", has_text="Entry point"))
    thumb.fill("Gap", "8")
    page.get_by_label("Photos").set_input_files(
        {"name": "door.jpg", "mimeType": "image/jpeg", "buffer": picture((80, 60))}
    )
    thumb.taps += 2  # the picker of the phone opens, one photo is chosen
    axe(page)
    thumb.press("Keep this finding")
    expect(page.locator("main")).to_contain_text("Kept: Entry point, 8 mm")
    for side in ("outside", "inside"):
        thumb.tap(page.get_by_role("button", name=f"left {side}"))
        expect(page.get_by_role("button", name=f"left {side}")).to_have_count(0)
    axe(page)
    thumb.press("End and keep it")
    expect(page.locator("main")).to_contain_text("The inspection is ended and kept.")
    axe(page)
    thumb.tap(page.get_by_role("link", name="Entry point, 8 mm").first)
    photo = page.get_by_alt_text("Photo 1 of this finding")
    photo.evaluate("picture => picture.scrollIntoView()")
    expect(photo).to_have_js_property("naturalWidth", 80)
    axe(page)
    print(f"\n{thumb.taps} taps for a round with a finding")
    assert thumb.taps <= MOST_TAPS
    found = Finding.objects.get()
    assert (found.gap_nm, found.photos.count()) == (8_000_000, 1)
    assert Inspection.objects.get().answers.count() == 24
