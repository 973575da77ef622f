"""A zone without wall runs, treated in part: 80 ft of a band of 120 ft x 5 ft, 400 sq ft."""

from __future__ import annotations

import json
from datetime import date
from io import BytesIO

import pytest
import time_machine
from pypdf import PdfReader

from accounts.models import Person
from scheduling.models import Visit
from scheduling.rules.visit_states import RenewalState
from tests.factories import client_for, make_label, make_visit
from tests.stories.test_safety_questions import words
from tests.stories.test_wall_runs import _ten_in_the_morning as _ten_in_the_morning
from tests.stories.test_wall_runs import typed
from tests.stories.test_wall_runs import visit as visit
from treatments.models import ApplicationRecord, LabelLimit, LogEntry, TreatedRun, ZoneProtection
from treatments.selectors.log_leaves import row_differences
from treatments.selectors.windows import protection_drift

pytestmark = pytest.mark.django_db


def path_of(visit: Visit, use: int, page: str = "record", more: str = "") -> str:
    zone = visit.property.zones.get()
    return f"/stops/{visit.pk}/{page}/?zone={zone.pk}&use={use}&tank=1{more}"


def test_the_rest_of_a_zone_stays_due(visit: Visit, technician: Person, manager: Person) -> None:
    zone, client = visit.property.zones.get(), client_for(technician)
    before = ZoneProtection.objects.get(zone=zone)
    path = path_of(visit, make_label().pk)
    assert "Only a part of a zone was treated" in words(client.get(path).content)
    half = client.post(path, typed({}, **{f"part_{zone.pk}": "80"}))
    assert half.status_code == 422
    assert "say why the rest was not treated" in words(half.content)
    part = {f"part_{zone.pk}": "80", f"rest_{zone.pk}": "dog"}
    too_much = client.post(path, typed({}, **part | {f"part_{zone.pk}": "120"}))
    assert "Leave the part empty for all" in words(too_much.content)
    answer = client.post(path, typed({}, **part))
    assert answer.status_code == 302, words(answer.content)

    record = ApplicationRecord.objects.get(visit_ref=str(visit.ref))
    # 80 ft x 5 ft = 400 sq ft x 92,903.04 mm2; 80 ft x 304.8 mm
    assert (record.area_mm2, record.length_mm) == (37_161_216, 24_384)
    kept = list(TreatedRun.objects.values_list("name", "length", "unit", "reason"))
    assert kept == [("treated part", "80", "ft", ""), ("the rest", "40", "ft", "dog")]
    leaf = json.loads(bytes(LogEntry.objects.get(record=record).leaf))["payload"]
    assert [run["length"] for run in leaf["runs"]] == ["80", "40"]
    assert not list(row_differences(record.branch_id, None))
    assert ZoneProtection.objects.get(zone=zone).window_id == before.window_id
    visit.renewal.refresh_from_db()
    assert visit.renewal.state == RenewalState.DUE
    assert protection_drift() == []
    shown = words(client_for(manager).get(f"/record/{record.pk}/").content)
    assert "the rest, 40 ft (left out: dog)" in shown
    notice = PdfReader(BytesIO(client.get(f"/visits/{visit.pk}/notice.pdf").content))
    paper = " ".join(" ".join(one.extract_text() for one in notice.pages).split()).casefold()
    assert "the rest" in paper
    assert "dog" in paper


def test_two_parts_are_no_whole_but_a_rest_that_needs_nothing_is(
    visit: Visit, technician: Person
) -> None:
    zone, client = visit.property.zones.get(), client_for(technician)
    use = make_label(use={"min_interval_days": 0})
    before = ZoneProtection.objects.get(zone=zone)
    part = {f"part_{zone.pk}": "80", f"rest_{zone.pk}": "dog"}
    for day, reason in ((date(2026, 11, 25), "dog"), (date(2026, 12, 2), "fence")):
        with time_machine.travel(f"{day}T15:00:00Z", tick=False):
            at = visit if reason == "dog" else make_visit(visit.property, technician, day)
            said = part | {f"rest_{zone.pk}": reason}
            assert client.post(path_of(at, use.pk), typed({}, **said)).status_code == 302
            assert ZoneProtection.objects.get(zone=zone).window_id == before.window_id
    with time_machine.travel("2026-12-09T15:00:00Z", tick=False):
        last = make_visit(visit.property, technician, date(2026, 12, 9))
        said = part | {f"rest_{zone.pk}": "not_needed"}
        client = client_for(technician)
        assert client.post(path_of(last, use.pk), typed({}, **said)).status_code == 302
    # 90 days of claim
    held = ZoneProtection.objects.get(zone=zone, counts=True)
    assert held.window.applied_on == date(2026, 12, 9)
    assert protection_drift() == []


def test_the_mix_is_planned_for_the_part_that_a_label_allows(
    visit: Visit, technician: Person
) -> None:
    """A fifth of the surface, as the label of this test has it: 24 of 120 ft."""
    client = client_for(technician)
    use = make_label()
    LabelLimit.objects.create(
        label_version=use.label_version,
        fact="surface_share",
        comparison="at_most",
        limit=20,
        severity="refuse",
        page="page 4",
    )
    page = client.get(path_of(visit, use.pk, "mix")).context["page"]
    whole = page.plan.measured
    assert "Treat no more than 120 sq ft" in " ".join(one.to_do for one in page.to_heed)
    planned = client.get(f"/stops/{visit.pk}/mix/?{page.within_label}")
    shown = planned.context["page"]
    assert not [one for one in shown.to_heed if one.code == "surface_share"]
    assert shown.within_label == ""
    assert "24 ft of 600 sq ft" in words(planned.content)
    # amounts are for a fifth, rounded down to the measure
    assert 0 < shown.plan.measured.value <= whole.value / 5
    record = client.get(f"/stops/{visit.pk}/record/?{shown.query}").context["form"]
    assert record[f"part_{visit.property.zones.get().pk}"].value() == "24"
    more = client.get(path_of(visit, use.pk, "mix", f"&part_{visit.property.zones.get().pk}=121"))
    assert "121 ft is more than" in words(more.content)
