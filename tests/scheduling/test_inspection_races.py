"""Two taps at the same moment: one row, and never an error page."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from uuid import UUID, uuid4

import pytest
from django.db import connection
from django.utils import timezone

from accounts.models import Person
from accounts.refusals import Refused
from scheduling.selectors.reach import reachable
from scheduling.services.inspecting import end_task_here
from sites.models import Finding, Inspection, TaskEnding
from sites.rules.findings import NewFinding
from sites.services.inspections import add_finding, end_inspection
from tests.inspection_cases import a_round, make_finding, make_task

pytestmark = [pytest.mark.engine, pytest.mark.django_db(transaction=True)]
WRITERS = 3


@pytest.fixture
def inspection(manager: Person) -> Inspection:
    made = a_round()
    manager.branch = made.property.branch
    manager.save()
    return made


def _race(act: Callable[[], object]) -> list[str]:
    gate = Barrier(WRITERS)

    def attempt() -> str:
        try:
            gate.wait(timeout=20)
            act()
        except Refused as refused:
            return refused.code
        finally:
            connection.close()
        return "kept"

    with ThreadPoolExecutor(WRITERS) as pool:
        tries = [pool.submit(attempt) for _ in range(WRITERS)]
        return sorted(one.result() for one in tries)


def test_one_form_sent_three_times_at_once_is_one_finding(
    manager: Person, inspection: Inspection
) -> None:
    new = NewFinding(uuid4(), inspection.pk, "doors", "evidence", "soon")
    now, today = timezone.now(), timezone.now().date()

    def act() -> None:
        add_finding(within=reachable(manager, today), new=new, photos=[], by=manager, now=now)

    assert _race(act) == ["kept"] * WRITERS
    assert Finding.objects.count() == 1


def test_a_round_ends_once(manager: Person, inspection: Inspection) -> None:
    make_finding(inspection)
    now, pk = timezone.now(), inspection.pk

    def act() -> None:
        within = reachable(manager, now.date())
        end_inspection(within=within, inspection_id=pk, words="", by=manager, now=now)

    assert _race(act) == ["ended", "ended", "kept"]


def test_a_task_ends_once_by_forms_of_their_own(manager: Person, inspection: Inspection) -> None:
    task, now = make_task(make_finding(inspection)), timezone.now()

    def end(client_ref: UUID) -> None:
        end_task_here(
            task_id=task.pk,
            client_ref=client_ref,
            kind="done",
            inside="",
            words="",
            photos=[],
            by=manager,
            now=now,
            today=now.date(),
        )

    assert _race(lambda: end(uuid4())) == ["ended", "ended", "kept"]
    assert TaskEnding.objects.count() == 1
