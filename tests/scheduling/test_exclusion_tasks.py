"""Tasks that keep pests out: what is offered, who is chased, what is asked before closing."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.utils import timezone

from accounts.models import Branch, OpenItem, Person
from scheduling.models import Visit, VisitApplication, VisitTask
from scheduling.selectors.notices import notice_of
from sites.models import ExclusionTask, Inspection, Photo, Property, TaskEnding
from tests.accounts.pages import ask, errors, send, words
from tests.factories import (
    make_customer,
    make_label,
    make_property,
    make_record,
    make_visit,
    make_zone,
)
from tests.inspection_cases import make_finding, make_round, make_task, upload

pytestmark = pytest.mark.django_db


@pytest.fixture
def inspection(branch_ohio: Branch) -> Inspection:
    place = make_property(make_customer(branch_ohio, "Ash Household"), "14 Heron Lane")
    return make_round(place)


@pytest.fixture
def place(inspection: Inspection) -> Property:
    return inspection.property


def _today() -> date:
    return timezone.now().astimezone(ZoneInfo("America/New_York")).date()


def _task(**fields: Any) -> dict[str, Any]:
    due: date = _today() + timedelta(days=14)
    return {
        "client_ref": str(uuid.uuid4()),
        "measure": "seal",
        "material": "copper_and_sealant",
        "does": "firm",
        "due_on": due.isoformat(),
    } | fields


def _end(**fields: Any) -> dict[str, Any]:
    return {"client_ref": str(uuid.uuid4()), "kind": "done"} | fields


def test_a_task_of_the_customer_is_chased_until_it_ends(
    office: Person, inspection: Inspection
) -> None:
    finding = make_finding(inspection, checkpoint="vegetation")
    form = _task(measure="vegetation", material="none", does="customer", price="85.50")
    assert send(office, "finding_task", finding.pk, **form).status_code == 302
    send(office, "finding_task", finding.pk, **form)
    task = ExclusionTask.objects.get()
    item = OpenItem.objects.get(code="customer_task")
    assert "Ash Household to do by" in item.sentence
    assert str(task.price) == "85.50"
    listed = words(ask(office, "exclusion_tasks", show="customer"))
    assert "1 exclusion task: for customers to do" in listed
    done = _end(photos=upload())
    assert send(office, "exclusion_task", task.pk, **done).status_code == 302
    send(office, "exclusion_task", task.pk, **done)
    item.refresh_from_db()
    assert item.closed_at is not None
    assert (TaskEnding.objects.count(), Photo.objects.count()) == (1, 1)
    finding.refresh_from_db()
    assert finding.closing.kind == "fixed"
    assert "0 exclusion tasks" in words(ask(office, "exclusion_tasks"))
    assert "Done" in words(ask(office, "exclusion_tasks", show="ended"))


def test_what_is_past_due_is_told_from_what_is_not(office: Person, inspection: Inspection) -> None:
    finding = make_finding(inspection)
    late, later = make_task(finding, due_on=date(2026, 1, 2)), make_task(finding)
    shown = {
        view: [one.pk for one in ask(office, "exclusion_tasks", show=view).context["rows"]]
        for view in ("open", "due", "customer", "ended")
    }
    assert shown == {"open": [late.pk, later.pk], "due": [late.pk], "customer": [], "ended": []}


@pytest.mark.parametrize("opening", ["combustion_air", "flue", "dryer", "radon", "gas", "relief"])
def test_closing_is_neither_offered_nor_taken_where_it_could_kill(
    office: Person, inspection: Inspection, opening: str
) -> None:
    finding = make_finding(inspection, "20", checkpoint="penetrations", opening=opening)
    page = ask(office, "finding_task", finding.pk)
    assert [value for value, _ in page.context["form"].fields["measure"].choices] == ["other_trade"]
    assert "Never close or screen this" in words(page)
    answer = send(office, "finding_task", finding.pk, **_task())
    assert list(errors(answer)) == ["measure"]
    assert ExclusionTask.objects.count() == 0


def test_a_weep_hole_stays_open_and_says_so(office: Person, inspection: Inspection) -> None:
    finding = make_finding(inspection, "9", checkpoint="weep_holes", opening="weep_hole")
    assert list(errors(send(office, "finding_task", finding.pk, **_task()))) == ["measure"]
    send(office, "finding_task", finding.pk, **_task(measure="mesh", material="copper_mesh"))
    assert "This weep hole must stay open" in words(ask(office, "exclusion_tasks"))


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"due_on": "2026-01-01"}, "due_on"),
        ({"due_on": ""}, "due_on"),
        ({"price": "-1"}, "price"),
        ({"price": "a lot"}, "price"),
        ({"material": "gum"}, "material"),
        ({"does": ""}, "does"),
    ],
)
def test_a_task_that_cannot_be_is_refused(
    office: Person, inspection: Inspection, change: dict[str, str], field: str
) -> None:
    finding = make_finding(inspection)
    assert list(errors(send(office, "finding_task", finding.pk, **_task(**change)))) == [field]


def _in_the_eave(inspection: Inspection) -> ExclusionTask:
    finding = make_finding(inspection, "6", checkpoint="eaves")
    return make_task(finding, measure="seal", material="copper_mesh")


@pytest.mark.parametrize("answer", ["", "not_looked", "other", "bats", "birds"])
def test_an_eave_is_not_called_closed_before_somebody_looked_at_dusk(
    office: Person, inspection: Inspection, answer: str
) -> None:
    task = _in_the_eave(inspection)
    assert "Live animals inside? Look at dusk" in words(ask(office, "exclusion_task", task.pk))
    refused = send(office, "exclusion_task", task.pk, **_end(inside=answer))
    assert list(errors(refused)) == ["inside"]
    assert TaskEnding.objects.count() == 0
    send(office, "exclusion_task", task.pk, **_end(inside="none"))
    assert TaskEnding.objects.get().inside == "none"


def test_bats_are_referred_and_somebody_is_told(office: Person, inspection: Inspection) -> None:
    task = _in_the_eave(inspection)
    send(office, "exclusion_task", task.pk, **_end(kind="referred", inside="bats"))
    assert "licensed wildlife specialist" in OpenItem.objects.get(code="task_referred").sentence
    assert not hasattr(task.finding, "closing")


def test_a_withdrawal_says_why_and_an_ended_task_ends_once(
    office: Person, inspection: Inspection
) -> None:
    task = make_task(make_finding(inspection))
    assert list(errors(send(office, "exclusion_task", task.pk, **_end(kind="withdrawn")))) == [
        "words"
    ]
    send(office, "exclusion_task", task.pk, **_end(kind="withdrawn", words="The house is sold."))
    again = send(office, "exclusion_task", task.pk, **_end())
    assert "This task is ended already" in words(again)


def test_a_technician_ends_a_task_at_the_stop_and_the_visit_is_kept(
    technician: Person, other_technician: Person, place: Property, inspection: Inspection
) -> None:
    visit: Visit = make_visit(place, technician, _today(), state="started")
    task = make_task(make_finding(inspection))
    assert str(task) in words(ask(technician, "stop", visit.pk))
    assert ask(other_technician, "exclusion_task", task.pk).status_code == 404
    assert send(other_technician, "exclusion_task", task.pk, **_end()).status_code == 404
    assert send(technician, "exclusion_task", task.pk, **_end()).status_code == 302
    assert VisitTask.objects.get().visit == visit


def test_the_notice_says_what_the_customer_has_to_do(
    technician: Person, place: Property, inspection: Inspection
) -> None:
    visit = make_visit(place, technician, _today(), state="done")
    record = make_record(make_zone(place), technician, make_label(), visit_ref=str(visit.ref))
    VisitApplication.objects.create(visit=visit, record=record)
    plants = make_finding(inspection, checkpoint="vegetation")
    make_task(plants, measure="vegetation", material="none", does="customer")
    make_task(plants, measure="mulch", material="none")
    told = notice_of(visit, demo=True).to_do
    assert [one.by for one in told] == ["Jan 1, 2099"]
    assert "Plants 2 to 3 ft from the foundation" in told[0].what
