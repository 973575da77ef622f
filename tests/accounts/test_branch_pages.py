"""Branches: the manager's, and every one decides how its numbers and days are written."""

from __future__ import annotations

import pytest

from accounts.models import Branch, Person
from accounts.refusals import Refused
from accounts.services.branches import edit_branch, open_branch
from tests.accounts.pages import ask, codes, errors, send, typed, words

pytestmark = pytest.mark.django_db
SHOP = {
    "name": "Toledo",
    "business_license_number": "DEMO-OH-2",
    "street": "2 Demonstration Way",
    "city": "Toledo",
    "state": "oh",
    "zip_code": "43604",
    "phone": "(419) 555-0100",
    "after_hours_phone": "419 555 0101",
    "time_zone": "America/New_York",
    "units": "us",
    "latitude": "41.652800",
    "longitude": "-83.537900",
}


@pytest.mark.parametrize("name", ["branches", "branch_add"])
def test_branches_are_the_managers(
    name: str, manager: Person, office: Person, technician: Person, stranger: Person
) -> None:
    asking = [manager, office, technician, stranger, None]
    assert codes(asking, name) == [200, 403, 403, 403, 302]


def test_a_branch_is_the_managers_to_change(
    manager: Person, office: Person, technician: Person, stranger: Person
) -> None:
    asking = [manager, office, technician, stranger]
    assert codes(asking, "branch_edit", office.branch_id) == [200, 403, 403, 403]
    assert send(office, "branch_edit", office.branch_id, **SHOP).status_code == 403
    assert ask(manager, "branch_edit", 999_999).status_code == 404


def test_every_branch_is_listed(manager: Person, branch_penn: Branch) -> None:
    text = words(ask(manager, "branches"))
    assert "Columbus" in text
    assert "Erie" in text
    assert "(614) 555-0101" in text


def test_a_branch_is_opened_with_its_numbers_in_one_form(manager: Person) -> None:
    assert send(manager, "branch_add", **SHOP).status_code == 302
    branch = Branch.objects.get(name="Toledo")
    assert (branch.state, branch.zip_code) == ("OH", "43604")
    assert (branch.phone, branch.after_hours_phone) == ("+14195550100", "+14195550101")
    assert str(branch.latitude) == "41.652800"


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("name", "Columbus", "There is a branch named Columbus already"),
        ("state", "XX", "is not a state"),
        ("zip_code", "4360", "is not a ZIP code"),
        ("phone", "ask Bob", "is not a telephone number"),
        ("after_hours_phone", "12", "is not a telephone number"),
        ("time_zone", "Moon/Base", "not one of the available choices"),
        ("latitude", "412", "less than or equal to 90"),
        ("longitude", "west", "number"),
    ],
)
def test_a_branch_typed_wrong_gets_a_sentence_and_is_kept(
    manager: Person, field: str, value: str, sentence: str
) -> None:
    entered = SHOP | {field: value}
    response = send(manager, "branch_add", **entered)
    found = errors(response)
    assert list(found) == [field]
    assert sentence in " ".join(found[field])
    assert {name: typed(response, name) for name in SHOP} == entered
    assert Branch.objects.count() == 1


def test_a_saved_branch_reads_back_as_it_was_typed(manager: Person) -> None:
    branch_id = manager.branch_id
    assert send(manager, "branch_edit", branch_id, **SHOP).status_code == 302
    page = ask(manager, "branch_edit", branch_id)
    assert typed(page, "phone") == "(419) 555-0100"
    again = {name: typed(page, name) for name in SHOP}
    assert send(manager, "branch_edit", branch_id, **again).status_code == 302
    assert Branch.objects.get(pk=branch_id).after_hours_phone == "+14195550101"


def test_a_branch_keeps_the_clock_of_its_state_unless_told() -> None:
    assert open_branch(name="Far west", state="WA", by=None).time_zone == "America/Los_Angeles"
    told = open_branch(name="Gary", state="IN", by=None, time_zone="America/Chicago")
    assert told.time_zone == "America/Chicago"


def test_columns_that_are_not_named_stay(manager: Person) -> None:
    branch = edit_branch(branch_id=manager.branch_id, name="Columbus", state="OH", by=manager)
    assert branch.phone == "+16145550100"


def test_a_column_that_a_branch_has_not_is_a_mistake_of_the_program(manager: Person) -> None:
    with pytest.raises(TypeError, match="color"):
        open_branch(name="Toledo", state="OH", by=manager, color="red")


def test_the_office_opens_no_branch_by_any_way(office: Person) -> None:
    with pytest.raises(Refused) as refused:
        open_branch(name="Toledo", state="OH", by=office)
    assert refused.value.code == "not_permitted"
    assert Branch.objects.count() == 1
