"""The office's pages of people, and the door for who was invited, in a real browser."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from accounts.models import Person
from accounts.permissions import Role
from accounts.services.people import invite_person
from tests.factories import make_customer

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
GOOD = "four unrelated words walk"


def _wide(page: Page) -> bool:
    return bool(page.evaluate("document.documentElement.scrollWidth > window.innerWidth"))


@pytest.mark.parametrize(("width", "scheme"), [(1360, "light"), (390, "dark")])
def test_every_page_can_be_used_by_everybody(
    page_for: Callable[..., Page],
    axe: Callable[[Page], None],
    manager: Person,
    technician: Person,
    width: int,
    scheme: str,
) -> None:
    page = page_for(manager, width=width, scheme=scheme)
    customer, license = make_customer(manager.branch), technician.licenses.get()
    for name, args in (
        ("people", []),
        ("person", [technician.pk]),
        ("person_invite", []),
        ("person_edit", [technician.pk]),
        ("person_roles", [technician.pk]),
        ("person_deactivate", [technician.pk]),
        ("license_add", [technician.pk]),
        ("license_edit", [license.pk]),
        ("branches", []),
        ("branch_edit", [manager.branch_id]),
        ("customer_add", []),
        ("customer_edit", [customer.pk]),
        ("contact_add", [customer.pk]),
    ):
        page.goto(reverse(name, args=args))
        axe(page)
        assert not _wide(page), name


def test_from_the_invitation_to_the_first_sheet(
    page_for: Callable[..., Page], axe: Callable[[Page], None], manager: Person
) -> None:
    office = page_for(manager)
    office.goto(reverse("person_invite"))
    office.get_by_label("Full name").fill("Nora Newcomb")
    office.get_by_label("E-mail").fill("nora@firm.example")
    office.get_by_label("Technician").check()
    office.get_by_role("button", name="Make the invitation").click()
    axe(office)
    link = office.locator("code").inner_text()
    page = page_for(None, width=390)
    page.goto(link[link.index("/invitation/") :])
    page.get_by_label("Password", exact=True).fill("short")
    page.get_by_label("The same password again").fill("short")
    page.get_by_role("button", name="Set the password").click()
    expect(page.locator("main")).to_contain_text("at least 15 characters")
    axe(page)
    page.get_by_label("Password", exact=True).fill(GOOD)
    page.get_by_label("The same password again").fill(GOOD)
    page.get_by_role("button", name="Set the password").click()
    page.locator("[name=login]").fill("nora@firm.example")
    page.locator("[name=password]").fill(GOOD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/today/")


def test_a_link_used_already_says_so(
    page_for: Callable[..., Page], axe: Callable[[Page], None], manager: Person
) -> None:
    made = invite_person(
        email="nora@firm.example",
        full_name="Nora Newcomb",
        roles={Role.TECHNICIAN},
        branch_id=manager.branch_id,
        by=None,
        password=GOOD,
    )
    made.person.set_password(GOOD + " twice")
    made.person.save()
    page = page_for(None, width=390)
    page.goto(made.path)
    expect(page.locator("main")).to_contain_text("was used already")
    axe(page)
    page.locator("main a.act").click()
    page.wait_for_url("**/sign-in/login/**")
