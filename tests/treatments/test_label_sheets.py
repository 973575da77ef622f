"""The sheets of labels: read, verify, compare, change, take away."""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from accounts.models import Branch, OpenItem, Person
from accounts.permissions import Role
from accounts.refusals import Refused
from tests.factories import client_for, make_person, make_pest
from tests.treatments.conftest import NOW, House
from tests.treatments.label_entries import label_of, register
from treatments.models import LabelFile, LabelUse, LabelVerification, LabelVersion
from treatments.rules.label_entry import NewIngredient, NewLimit, NewProtection
from treatments.rules.label_lines import Line, compare
from treatments.selectors.label_pages import label_page, label_rows
from treatments.selectors.labels import labels_in_force
from treatments.services import label_files
from treatments.services.label_rows import (
    add_limit,
    add_protection,
    remove_direction,
    remove_limit,
    remove_protection,
)
from treatments.services.labels import complete_label, edit_label, enter_label, supersede_label
from treatments.services.products import edit_product
from treatments.services.recording import record_application

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
TODAY = date(2026, 11, 25)
INGREDIENT = NewIngredient("demofenate", Decimal("7.9"), Decimal("0.666667"), "1B")
NAMED = {"name": "Demonstration Z SC", "ingredients": (INGREDIENT,)}


@pytest.fixture
def version(manager: Person) -> LabelVersion:
    """A whole label, entered by the manager and not verified."""
    return enter_label(
        label=label_of(register(manager, **NAMED), make_pest("House ant").pk), by=manager
    )


@pytest.fixture
def second(branch_ohio: Branch) -> Person:
    """Another manager."""
    return make_person([Role.MANAGER], branch_ohio, "Helen Sorrel")


def superseded(version: LabelVersion, by: Person) -> LabelVersion:
    """A draft of the next version."""
    return supersede_label(
        label_version_id=version.pk,
        label_date=date(2026, 10, 1),
        effective_on=date(2026, 11, 1),
        by=by,
    )


def test_the_next_version_is_a_draft_until_it_is_complete(
    version: LabelVersion, manager: Person
) -> None:
    draft = superseded(version, manager)
    assert (draft.is_draft, draft.uses.count(), draft.limits.count()) == (True, 1, 2)
    assert list(labels_in_force(TODAY)) == [version]
    edit_label(label_version_id=draft.pk, today=TODAY, by=manager, precautions="Toxic to bees.")
    complete_label(label_version_id=draft.pk, today=TODAY, by=manager)
    assert list(labels_in_force(TODAY)) == [draft]
    ((_, rows),) = label_rows(TODAY)
    assert [row.word for row in rows] == ["In force", "Superseded"]
    with pytest.raises(Refused, match="begins after this one"):
        superseded(draft, manager)


def test_rows_change_until_the_label_is_verified(
    version: LabelVersion, manager: Person, second: Person
) -> None:
    product = NewLimit(
        "product_per_area_year", "at_most", Decimal(4), "refuse", "4 fl oz.", "p. 5", unit="fl_oz"
    )
    limit = add_limit(label_version_id=version.pk, limit=product, today=TODAY, by=manager)
    remove_limit(label_limit_id=limit.pk, today=TODAY, by=manager)
    gloves = NewProtection("apply", "Gloves", "p. 2")
    worn = add_protection(label_version_id=version.pk, protection=gloves, today=TODAY, by=manager)
    remove_protection(label_protection_id=worn.pk, today=TODAY, by=manager)
    use = version.uses.get()
    with pytest.raises(Refused, match="limits of its own"):
        remove_direction(label_use_id=use.pk, today=TODAY, by=manager)
    use.limits.all().delete()
    with pytest.raises(Refused, match="at least one direction"):
        remove_direction(label_use_id=use.pk, today=TODAY, by=manager)
    client_for(second).post(f"/labels/{version.pk}/verify/")
    assert LabelVerification.objects.get().created_by == second
    with pytest.raises(Refused) as refused:
        add_limit(label_version_id=version.pk, limit=product, today=TODAY, by=manager)
    assert refused.value.code == "label_verified"
    with pytest.raises(Refused) as refused:
        edit_product(product_id=version.product_id, by=manager, name="Other", **KINDS)
    assert refused.value.code == "product_settled"


KINDS = {"registration_kind": "device", "formulation": "bait"}


def test_a_product_changes_until_its_label_is_verified(manager: Person) -> None:
    product = register(manager)
    changed = edit_product(product_id=product.pk, by=manager, name="Demonstration trap", **KINDS)
    assert (changed.name, changed.ingredients.count()) == ("Demonstration trap", 0)


def test_who_wrote_a_part_is_not_the_second_person(
    version: LabelVersion, manager: Person, second: Person
) -> None:
    add_protection(
        label_version_id=version.pk,
        protection=NewProtection("apply", "Gloves", "p. 2"),
        today=TODAY,
        by=second,
    )
    page = client_for(second).post(f"/labels/{version.pk}/verify/")
    assert page.status_code == 422 and "Somebody else" in page.content.decode()
    assert not LabelVerification.objects.exists()


def test_a_fact_without_a_page_is_not_verified(
    version: LabelVersion, manager: Person, second: Person
) -> None:
    edit_label(label_version_id=version.pk, today=TODAY, by=manager, pages={})
    page = client_for(second).post(f"/labels/{version.pk}/verify/")
    assert "The page is missing for: protective equipment" in page.content.decode()


def test_use_before_verification_warns_and_opens_an_item(
    version: LabelVersion, house: House, second: Person
) -> None:
    use = version.uses.get()
    application = house.application(label_use_id=use.pk, pest_ids=(use.pests.get().pk,))
    recorded = record_application(application=application, by=house.technician, now=NOW)
    assert "unverified" in {one.code for one in recorded.judgements}
    item = OpenItem.objects.get(code="label_unverified")
    assert item.closed_at is None
    client_for(second).post(f"/labels/{version.pk}/verify/")
    item.refresh_from_db()
    assert item.closed_note == "Verified."


def test_a_draft_is_not_put_out(version: LabelVersion, house: House, manager: Person) -> None:
    draft = superseded(version, manager)
    application = house.application(label_use_id=draft.uses.get().pk)
    with pytest.raises(Refused, match="still being entered"):
        record_application(application=application, by=house.technician, now=NOW)


@pytest.mark.parametrize(
    ("content", "words"),
    [(b"PK\x03\x04 a zip", "not a PDF"), (b"", "empty"), (b"%PDF-1.7" + b" " * 90, "above 20 MB")],
)
def test_what_is_no_pdf_or_too_large_is_refused(
    version: LabelVersion,
    manager: Person,
    content: bytes,
    words: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(label_files, "MOST_BYTES", 64)
    file = SimpleUploadedFile("label.pdf", content)
    fields = {"kind": "label", "file": file}
    page = client_for(manager).post(f"/labels/{version.pk}/files/add/", fields)
    assert page.status_code == 422 and words in page.content.decode()
    assert not LabelFile.objects.exists()


def test_a_pdf_is_given_to_who_may_see_labels_as_an_attachment(
    version: LabelVersion, manager: Person, technician: Person, stranger: Person
) -> None:
    file = SimpleUploadedFile("the label.pdf", b"%PDF-1.7 demo")
    url = f"/labels/{version.pk}/files"
    client_for(manager).post(f"{url}/add/", {"kind": "label", "file": file})
    given = client_for(technician).get(f"{url}/label/")
    assert given.content == b"%PDF-1.7 demo"
    assert given["Content-Disposition"].startswith("attachment")
    assert (given["Content-Type"], given["X-Content-Type-Options"]) == (
        "application/pdf",
        "nosniff",
    )
    assert client_for(stranger).get(f"{url}/label/").status_code == 403
    assert client_for(technician).get(f"{url}/safety_sheet/").status_code == 404


def test_two_versions_stand_side_by_side_with_what_changed(
    version: LabelVersion, manager: Person
) -> None:
    draft = superseded(version, manager)
    edit_label(label_version_id=draft.pk, today=TODAY, by=manager, precautions="Toxic to bees.")
    page = client_for(manager).get(f"/labels/{draft.pk}/compare/").content.decode()
    assert "<del>Toxic to fish. (p. 1)</del>" in page
    assert "<ins>Toxic to bees. (p. 1)</ins>" in page
    assert "<b>1</b> fact of" in page


def test_a_fact_is_same_changed_added_or_removed() -> None:
    old = [Line("Label", "A", "1"), Line("Label", "B", "1"), Line("Label", "C", "1")]
    new = [Line("Label", "A", "1"), Line("Label", "B", "2"), Line("Label", "D", "1")]
    assert [(one.name, one.kind) for one in compare(old, new)] == [
        ("A", "same"),
        ("B", "changed"),
        ("D", "added"),
        ("C", "removed"),
    ]


def test_a_direction_and_a_limit_are_typed_in(version: LabelVersion, manager: Person) -> None:
    client = client_for(manager)
    direction = {
        "title": "Cracks", "page": "p. 5", "places": ["crack_crevice"], "methods": ["spot"],
        "rate_basis": "percent", "rate_unit": "fl_oz", "rate_max": "0.5",
        "mix_basis": "per_finished", "gallons_per_1000": "1", "min_interval_days": "0",
    }  # fmt: skip
    url = f"/labels/{version.pk}/directions/add/"
    assert client.post(url, direction | {"rate_max": "101"}).status_code == 422
    assert client.post(url, direction).status_code == 302
    use = LabelUse.objects.get(title="Cracks")
    edited = client.post(f"/directions/{use.pk}/edit/", direction | {"rate_max": "0.25"})
    assert edited.status_code == 302
    limit = {
        "fact": "wind", "comparison": "at_most", "limit": "8", "severity": "refuse",
        "direction": "Cracks", "sentence": "Not above 8 mph.", "page": "p. 5",
    }  # fmt: skip
    assert client.post(f"/labels/{version.pk}/limits/add/", limit).status_code == 302
    text = client.get(f"/labels/{version.pk}/").content.decode()
    assert "0.25 %" in text and "Not above 8 mph." in text
    assert label_page(version.pk, TODAY).is_editable


def test_a_label_is_downloaded_and_entered_again_from_its_file(
    version: LabelVersion, manager: Person, office: Person
) -> None:
    given = client_for(office).get(f"/labels/{version.pk}/label.json")
    document = json.loads(given.content)
    document["label"]["effective_on"] = "2026-12-01"
    file = SimpleUploadedFile("label.json", json.dumps(document).encode())
    assert client_for(manager).post("/labels/import/", {"file": file}).status_code == 302
    assert LabelVersion.objects.count() == 2
    wrong = SimpleUploadedFile("label.json", given.content.replace(b'"p. 4"', b'""'))
    page = client_for(manager).post("/labels/import/", {"file": wrong})
    assert "directions[0].page: must not be empty" in page.content.decode()
