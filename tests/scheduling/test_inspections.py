"""Inspecting at a stop: the round, its findings, bad photos, what changed, the report."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from io import BytesIO
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from accounts.models import Branch, OpenItem, Person
from scheduling.models import Visit, VisitInspection
from sites.models import Finding, Inspection, Pest, Photo, Property, TreatableZone
from sites.rules.findings import NOT_WOOD_DESTROYING
from sites.rules.photo_files import SEALED_WORDS
from tests.accounts.pages import ask, errors, send, words
from tests.factories import (
    client_for,
    make_customer,
    make_label,
    make_property,
    make_record,
    make_visit,
    make_zone,
)
from tests.inspection_cases import (
    make_finding,
    make_photo,
    make_round,
    make_task,
    picture,
    upload,
)

pytestmark = pytest.mark.django_db
HEIC = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + b"\x00" * 64


@pytest.fixture
def place(branch_ohio: Branch) -> Property:
    return make_property(make_customer(branch_ohio, "Ash Household"), "14 Heron Lane")


@pytest.fixture
def visit(place: Property, technician: Person) -> Visit:
    return make_visit(place, technician, _today(), state="started")


def _today() -> date:
    return timezone.now().astimezone(ZoneInfo("America/New_York")).date()


def _pest(name: str = "House mouse", kind: str = "target", **fields: Any) -> Pest:
    values = {"scientific_name": "Mus musculus", "group": "rodents", "kind": kind} | fields
    return Pest.objects.create(common_name=name, **values)


def _finding(**fields: Any) -> dict[str, Any]:
    return {
        "client_ref": str(uuid.uuid4()),
        "checkpoint": "doors",
        "kind": "evidence",
        "severity": "soon",
        "gap_unit": "mm",
        "gap_shape": "slit",
        "opening": "plain",
    } | fields


def test_a_round_at_a_stop_from_the_first_tap_to_the_report(
    technician: Person, office: Person, visit: Visit, place: Property
) -> None:
    begun = send(technician, "stop_inspect", visit.pk)
    inspection = Inspection.objects.get()
    assert begun.headers["Location"] == inspection.get_absolute_url()
    send(technician, "stop_inspect", visit.pk)
    assert (Inspection.objects.count(), VisitInspection.objects.count()) == (1, 1)

    found = _finding(
        kind="entry", gap="4", where="north side", photos=[upload(), upload(picture((30, 40)))]
    )
    assert send(technician, "finding_add", inspection.pk, **found).status_code == 302
    send(technician, "inspection_round", inspection.pk, act="answers", checkpoints=["eaves"])
    send(technician, "inspection_round", inspection.pk, act="inside")
    page = words(ask(technician, "inspection_round", inspection.pk))
    assert "14 of 25 checkpoints answered, 1 finding" in page
    assert NOT_WOOD_DESTROYING in page
    send(technician, "inspection_round", inspection.pk, act="end", words="Dry and tidy.")
    inspection.refresh_from_db()
    assert (inspection.ending.is_nothing_found, inspection.answers.count()) == (False, 13)

    made = send(office, "inspection_report_make", inspection.pk)
    again = send(office, "inspection_report_make", inspection.pk)
    assert made.headers["Location"] == again.headers["Location"]
    report = inspection.reports.get()
    pdf = PdfReader(BytesIO(ask(office, "inspection_report", report.pk).content))
    text = " ".join("".join(page.extract_text() for page in pdf.pages).split())
    for said in (
        "Ash Household, 14 Heron Lane",
        NOT_WOOD_DESTROYING,
        "Entry point, 4 mm (Doors and thresholds, north side)",
        "Passes: Small ants and spiders, Multicolored Asian lady beetle, Brown marmorated",
        "Chambers 2019",
        "(614) 555-0100",
        "Dry and tidy.",
        "1 finding at 14 places looked at.",
    ):
        assert said in text, said
    sizes = {image.image.size for page in pdf.pages for image in page.images if image.image}
    assert sizes == {(40, 20), (30, 40)}


def test_nothing_found_is_an_answer_and_an_empty_checklist_is_none(
    technician: Person, visit: Visit
) -> None:
    send(technician, "stop_inspect", visit.pk)
    pk = Inspection.objects.get().pk
    refused = send(technician, "inspection_round", pk, act="end")
    assert "No checkpoint is answered yet" in words(refused)
    assert refused.status_code == 422
    assert "Tick what you looked at" in words(send(technician, "inspection_round", pk))
    for side in ("outside", "inside"):
        send(technician, "inspection_round", pk, act=side)
    send(technician, "inspection_round", pk, act="end")
    assert "Nothing found at 25 checkpoints" in words(ask(technician, "inspection_round", pk))
    assert Inspection.objects.get().ending.is_nothing_found
    late = send(technician, "finding_add", pk, **_finding())
    assert "This inspection is ended" in words(late)
    assert "ended" in words(send(technician, "inspection_round", pk, act="outside"))


def test_the_same_form_twice_is_one_finding_and_other_words_are_refused(
    technician: Person, visit: Visit
) -> None:
    send(technician, "stop_inspect", visit.pk)
    pk, form = Inspection.objects.get().pk, _finding(note="droppings")
    for _ in range(2):
        assert send(technician, "finding_add", pk, **form, photos=upload()).status_code == 302
    assert (Finding.objects.count(), Photo.objects.count()) == (1, 1)
    assert "sent before with other words" in words(
        send(technician, "finding_add", pk, **form | {"note": "more"})
    )


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"kind": "entry"}, "gap"),
        ({"kind": "entry", "gap": "0"}, "gap"),
        ({"kind": "entry", "gap": "2000"}, "gap"),
        ({"kind": "entry", "gap": "4 cm"}, "gap"),
        ({"kind": "live"}, "pest"),
        ({"kind": "condition"}, "condition"),
        ({"kind": ""}, "kind"),
        ({"checkpoint": "roof of the neighbor"}, "checkpoint"),
        ({"pest": "999999"}, "pest"),
        ({"client_ref": ""}, "client_ref"),
    ],
)
def test_a_finding_that_cannot_be_comes_back_with_what_was_typed(
    technician: Person, visit: Visit, change: dict[str, str], field: str
) -> None:
    send(technician, "stop_inspect", visit.pk)
    form = _finding(note="behind the bin") | change
    answer = send(technician, "finding_add", Inspection.objects.get().pk, **form)
    assert list(errors(answer)) == [field]
    assert answer.context["form"]["note"].value() == "behind the bin"
    assert Finding.objects.count() == 0


@pytest.mark.parametrize(
    ("content", "name", "said"),
    [
        (b"#!/bin/sh\nrm -rf /\n", "holiday.jpg", "is not a photo"),
        (b"\0" * 26_214_401, "wall.jpg", "is above 20 MB"),
        (b"", "none.jpg", "is empty"),
    ],
)
def test_a_bad_photo_is_refused_and_nothing_is_kept(
    technician: Person, visit: Visit, content: bytes, name: str, said: str
) -> None:
    send(technician, "stop_inspect", visit.pk)
    form = _finding(note="kept", photos=upload(content, name))
    answer = send(technician, "finding_add", Inspection.objects.get().pk, **form)
    assert said in errors(answer)["photos"][0]
    assert answer.context["form"]["note"].value() == "kept"
    assert (Finding.objects.count(), Photo.objects.count()) == (0, 0)


def test_a_heic_is_kept_sealed_for_the_manager_as_an_attachment(
    technician: Person, manager: Person, office: Person, visit: Visit
) -> None:
    send(technician, "stop_inspect", visit.pk)
    pk = Inspection.objects.get().pk
    photo = {"photos": upload(HEIC, "IMG_2.HEIC")}
    answer = client_post(technician, "finding_add", pk, **_finding() | photo)
    assert SEALED_WORDS in words(answer)
    kept = Photo.objects.get()
    assert (kept.is_sealed, bytes(kept.content)) == (True, HEIC)
    assert [ask(one, "photo", kept.pk).status_code for one in (technician, office)] == [403, 403]
    sealed = ask(manager, "photo", kept.pk)
    assert sealed.headers["Content-Type"] == "application/octet-stream"
    assert sealed.headers["X-Content-Type-Options"] == "nosniff"
    assert sealed.headers["Content-Disposition"].startswith("attachment")
    assert "Sealed file IMG_2.HEIC" in words(ask(manager, "finding", Finding.objects.get().pk))


def client_post(person: Person, name: str, pk: int, **fields: Any) -> Any:
    return client_for(person).post(reverse(name, args=[pk]), fields, follow=True)


def test_a_photo_is_shown_to_who_may_see_the_property(
    technician: Person, other_technician: Person, office: Person, visit: Visit, place: Property
) -> None:
    photo = make_photo(make_finding(make_round(place)), content=picture())
    assert ask(technician, "photo", photo.pk).headers["Content-Type"] == "image/jpeg"
    assert ask(office, "photo", photo.pk).status_code == 200
    assert ask(other_technician, "photo", photo.pk).status_code == 404


@pytest.mark.parametrize("days", [-8, 8])
def test_a_stop_too_far_away_in_time_opens_nothing(
    technician: Person, place: Property, days: int
) -> None:
    make_visit(place, technician, _today() + timedelta(days=days))
    inspection = make_round(place)
    finding = make_finding(inspection)
    for name, pk in (
        ("inspections_of", place.pk),
        ("inspection_round", inspection.pk),
        ("finding", finding.pk),
        ("finding_add", inspection.pk),
        ("exclusion_task", make_task(finding).pk),
    ):
        assert ask(technician, name, pk).status_code == 404, name
    assert send(technician, "finding_add", inspection.pk, **_finding()).status_code == 404


def test_a_finding_on_the_property_of_another_branch_is_not_there(
    office: Person, branch_penn: Branch
) -> None:
    inspection = make_round(make_property(make_customer(branch_penn)))
    assert send(office, "finding_add", inspection.pk, **_finding()).status_code == 404
    assert Finding.objects.count() == 0


def test_an_inspection_again_shows_what_changed_and_where_it_recurs(
    office: Person, place: Property
) -> None:
    mouse = _pest()
    before = make_round(place, begun_at=timezone.now() - timedelta(days=400))
    make_finding(before, checkpoint="attic", pest=mouse, severity="note")
    make_finding(before, checkpoint="kitchen")
    now = make_round(place)
    make_finding(now, checkpoint="attic", pest=mouse, severity="now")
    send(office, "inspection_round", now.pk, act="answers", checkpoints=["kitchen"])
    page = words(ask(office, "inspection_round", now.pk))
    assert "Worse Evidence of pests: House mouse (Attic: vents, daylight, droppings)" in page
    assert "Gone Evidence of pests (Kitchen: under and behind appliances)" in page
    spots = words(ask(office, "inspections_of", place.pk))
    first, second = (one.begun_at.year for one in (before, now))
    assert f"Attic: vents, daylight, droppings : {first}: 1, {second}: 1" in spots


def test_gaps_are_ordered_by_what_they_let_in_and_what_was_here(
    office: Person, technician: Person, place: Property
) -> None:
    """Weights by hand: a 4 mm slit 2+2+2; a 1/4 in hole 2+1+2, with two mice seen 2+1+2*3."""
    inspection = make_round(place)
    slit = make_finding(inspection, "4", checkpoint="windows")
    hole = make_finding(inspection, "6.35", shape="hole", checkpoint="penetrations")

    def order() -> list[tuple[int, int]]:
        page = ask(office, "inspections_of", place.pk).context["page"]
        return [(row.finding.pk, row.weight) for row in page.work]

    assert order() == [(slit.pk, 6), (hole.pk, 5)]
    make_finding(inspection, checkpoint="attic", pest=_pest())
    record = make_record(make_zone(place), technician, make_label(), pests=["House mouse"])
    assert record.pests == ["House mouse"]
    assert order() == [(hole.pk, 9), (slit.pk, 6)]


def test_a_wood_destroying_pest_is_referred(technician: Person, visit: Visit) -> None:
    send(technician, "stop_inspect", visit.pk)
    termite = _pest("Eastern subterranean termite", "refer", group="other")
    form = _finding(kind="damage", checkpoint="crawl_space", pest=termite.pk)
    send(technician, "finding_add", Inspection.objects.get().pk, **form)
    item = OpenItem.objects.get(code="finding_referred")
    assert "Refer to a firm licensed in that category." in item.sentence
    assert "Refer to a firm licensed" in words(ask(technician, "finding", Finding.objects.get().pk))


def test_a_zone_is_one_step_from_a_finding_also_for_a_technician(
    technician: Person, visit: Visit, place: Property
) -> None:
    finding = make_finding(make_round(place), checkpoint="weep_holes", spot="south wall")
    page = ask(technician, "finding_zone", finding.pk)
    form = {name: field.value() or "" for name, field in _fields(page).items()}
    assert form["name"] == "Weep holes and brick vents, south wall"
    form |= {"length_unit": "ft", "corners": "simple"}
    assert send(technician, "finding_zone", finding.pk, **form).status_code == 302
    zone = TreatableZone.objects.get()
    assert (zone.place, zone.geometry, zone.property_id) == ("entry_point", "count", place.pk)
    assert finding.zones.get().zone == zone


def _fields(page: Any) -> dict[str, Any]:
    return {field.name: field for field in page.context["form"]}


def test_a_closed_finding_leaves_the_list_and_is_closed_once(
    office: Person, place: Property
) -> None:
    finding = make_finding(make_round(place))
    task = make_task(finding)
    still = send(office, "finding_close", finding.pk, kind="gone")
    assert "A task about it is open" in words(still)
    send(office, "exclusion_task", task.pk, **_end(kind="withdrawn", words="sold"))
    assert send(office, "finding_close", finding.pk, kind="gone").status_code == 302
    assert ask(office, "inspections_of", place.pk).context["page"].open_count == 0
    again = send(office, "finding_close", finding.pk, kind="gone")
    assert "This finding is closed" in words(again)


def _end(**fields: Any) -> dict[str, Any]:
    return {"client_ref": str(uuid.uuid4()), "kind": "done"} | fields


def test_pages_ask_as_often_for_many_findings_as_for_one(
    office: Person, place: Property, django_assert_max_num_queries: Any
) -> None:
    inspection = make_round(place)
    for number in range(12):
        make_photo(make_finding(inspection, "4", spot=f"no. {number}"))
    for name, pk in (("inspection_round", inspection.pk), ("inspections_of", place.pk)):
        with django_assert_max_num_queries(30):
            ask(office, name, pk)
