"""Several who want one place of one technician at the same time, round after round."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from itertools import pairwise
from multiprocessing import get_context
from multiprocessing.connection import Connection

from django.db import connections

from accounts.models import Person
from accounts.permissions import Role
from accounts.refusals import Refused
from scheduling.models import Shift, Visit
from scheduling.services.booking import book_visit
from sites.models import Property
from tests.factories import (
    make_branch,
    make_customer,
    make_license,
    make_person,
    make_property,
)

NOW = datetime(2026, 11, 25, 15, tzinfo=UTC)
DAY = date(2026, 11, 27)
PROCESSES = 16
LOST = {"no_place", "just_taken"}


@dataclass(frozen=True)
class Outcome:
    """What came of all rounds."""

    rounds: int
    wins: int
    lost: int
    overlaps: int
    strange: tuple[str, ...]

    @property
    def holds(self) -> bool:
        """One win a round, no overlap, and every other one told why."""
        return self.wins == self.rounds and not self.overlaps and not self.strange


def run(technician: Person, places: list[Property], *, rounds: int) -> Outcome:
    """Let one process a property ask for the same two hours, `rounds` times over.

    The rows must be committed: each process has its own connection.
    """
    connections.close_all()
    context = get_context("fork")
    pairs = [context.Pipe() for _ in places]
    workers = [
        context.Process(target=_worker, args=(child, technician.pk, place.pk), daemon=True)
        for (_, child), place in zip(pairs, places, strict=True)
    ]
    for worker in workers:
        worker.start()
    answers = [one for _ in range(rounds) for one in _round([ours for ours, _ in pairs])]
    for ours, _ in pairs:
        ours.send(False)
    for worker in workers:
        worker.join(timeout=20)
    said = [one for one, _ in answers]
    return Outcome(
        rounds=rounds,
        wins=said.count("booked"),
        lost=sum(one in LOST for one in said),
        overlaps=sum(extra for _, extra in answers),
        strange=tuple(one for one in said if one not in LOST | {"booked"}),
    )


def _round(pipes: list[Connection]) -> Iterator[tuple[str, int]]:
    """Start all at once, wait for all, count overlapping visits, clear the day."""
    with ThreadPoolExecutor(len(pipes)) as pool:
        list(pool.map(lambda pipe: pipe.send(True), pipes))
    said = [str(pipe.recv()) for pipe in pipes]
    overlaps = _overlaps()
    Visit.objects.all().delete()
    yield from ((one, overlaps if n == 0 else 0) for n, one in enumerate(said))


def _overlaps() -> int:
    rows = Visit.objects.filter(starts_at__isnull=False).order_by("technician", "starts_at")
    visits = list(rows)
    pairs = pairwise(visits)
    return sum(a.technician_id == b.technician_id and b.starts_at < a.ends_at for a, b in pairs)


def _worker(pipe: Connection, technician_id: int, property_id: int) -> None:
    while pipe.recv():
        pipe.send(_book(technician_id, property_id))
    connections.close_all()


def _book(technician_id: int, property_id: int) -> str:
    try:
        book_visit(
            technician_id=technician_id,
            property_id=property_id,
            day=DAY,
            window_opens=time(9),
            window_closes=time(10),
            minutes=120,
            by=None,
            now=NOW,
        )
    except Refused as refused:
        return refused.code
    except Exception as error:  # noqa: BLE001  # what else went wrong is the answer of this test
        return f"{type(error).__name__}: {error}"[:120]
    return "booked"


def shop(technician: Person) -> Shift:
    """The hours that the place lies in."""
    return Shift.objects.create(technician=technician, weekday=DAY.weekday())


def full(*, rounds: int, seed: int) -> tuple[bool, str]:
    """Sixteen processes on one place; whether each round had one winner, and in words.

    Nothing is drawn: who is first is the machine's choice, so that `seed` changes nothing.
    """
    technician = make_person([Role.TECHNICIAN], make_branch())
    make_license(technician, "OH")
    shop(technician)
    customer = make_customer(technician.branch)
    places = [make_property(customer) for _ in range(PROCESSES)]
    outcome = run(technician, places, rounds=rounds)
    return outcome.holds, f"{PROCESSES} processes: {outcome}"
