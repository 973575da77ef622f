"""Recording by many writers at once beside bare inserts of the same rows by as many writers.

Each writer is a process and calls the real service (label, history, windows, stock, leaf) at its
own properties of one branch; the bare writers do the same to another branch. Both take turns, five
times each, with the durability of a house in service. Rates are records a second.
"""

from __future__ import annotations

import multiprocessing
import re
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import timedelta
from itertools import chain
from statistics import median
from time import monotonic, sleep
from typing import Any

from django.db import connection, connections

from accounts.models import Person
from config.settings import SQLITE_OPTIONS
from tests.bench.floors.recording import Template, floor, template
from tests.bench.recording_shop import Shop, Writer, shop
from tests.bench.timing import ROUNDS
from treatments.models import ApplicationRecord, LogEntry
from treatments.selectors.log import verify, verify_chain
from treatments.selectors.windows import protection_drift
from treatments.services.profiles import load_profiles
from treatments.services.recording import record_application

LEAST_RATIO, LONGEST_WAIT_S = 0.25, 5.0
HOUSES_A_SECOND, MOST_HOUSES = 3, 600
TAKES_A_LOCK = re.compile(r"^BEGIN|FOR (NO KEY )?UPDATE")
ALL_READY_S = 0.3
Grown = dict[str, int]


@dataclass(frozen=True)
class Turn:
    """What one writer did in its turn, in seconds a record.

    How long each waited in all, held its first lock, and was in statements while it did.
    """

    waits: tuple[float, ...]
    holds: tuple[float, ...]
    inside: tuple[float, ...]
    ended: float


@dataclass(frozen=True)
class Load:
    """Records a second in each round, ours and bare, and how long each of ours took."""

    ours: tuple[float, ...]
    bare: tuple[float, ...]
    waits: tuple[float, ...]
    holds: tuple[float, ...]
    inside: tuple[float, ...]

    @property
    def ratio(self) -> float:
        """Our rate over the bare rate, by medians."""
        return median(self.ours) / median(self.bare)

    @property
    def is_enough(self) -> bool:
        """Whether rate and worst wait are what is asked."""
        return self.ratio >= LEAST_RATIO and max(self.waits) < LONGEST_WAIT_S

    def __str__(self) -> str:
        return (
            f"{len(self.waits)} records; a second: {_rates(self.ours)}; bare {_rates(self.bare)}; "
            f"ratio {self.ratio:.2f}; wait {_times(self.waits)}; transaction {_times(self.holds)} "
            f"(statements {_times(self.inside)}); "
            f"{'enough' if self.is_enough else 'NOT ENOUGH'}: at least {LEAST_RATIO}, "
            f"no wait of {LONGEST_WAIT_S:.0f} s"
        )


class Held:
    """Since when a call has held its first lock, and its seconds in statements from then on."""

    def __init__(self) -> None:
        self.since: float | None = None
        self.inside = 0.0

    def __call__(self, execute: Callable[..., Any], sql: str, *rest: Any) -> Any:
        begun = monotonic()
        answer = execute(sql, *rest)
        if self.since is not None:
            self.inside += monotonic() - begun
        elif TAKES_A_LOCK.search(sql):
            self.since = monotonic()
        return answer


def _write(writer: Writer, first: int, begin: float, until: float) -> Turn:
    """Record one piece of work after the other, from that number on, until the turn is over."""
    person = Person.objects.get(pk=writer.person_id)
    waits, holds, inside = [], [], []
    sleep(max(0.0, begin - monotonic()))
    while (asked := monotonic()) < until or not waits:
        held = Held()
        with connection.execute_wrapper(held):
            _record(writer, person, first + len(waits))
        answered = monotonic()
        waits.append(answered - asked)
        holds.append(answered - (held.since or asked))
        inside.append(held.inside)
    return Turn(tuple(waits), tuple(holds), tuple(inside), monotonic())


def _record(writer: Writer, person: Person, number: int) -> ApplicationRecord:
    application = writer.application(number)
    now = application.finished_at + timedelta(minutes=5)
    return record_application(application=application, by=person, now=now).record


def _write_bare(one: Template, begin: float, until: float) -> Turn:
    connection.ensure_connection()
    waits: list[float] = []
    sleep(max(0.0, begin - monotonic()))
    while (asked := monotonic()) < until or not waits:
        floor(one)
        waits.append(monotonic() - asked)
    return Turn(tuple(waits), (), (), monotonic())


def templates(bare: Shop) -> list[Template]:
    """A template a writer; refused when the floor leaves other rows than the service.

    The second record of a property is copied, since the first one makes its protections.
    Raises ValueError with how many rows each table got from both.
    """
    found = []
    for writer in bare.writers:
        person = Person.objects.get(pk=writer.person_id)
        _record(writer, person, 0)
        before = _counts()
        record = _record(writer, person, len(writer.places))
        between = _counts()
        one = template(record.pk)
        floor(one)
        ours, plain = _grown(before, between), _grown(between, _counts())
        if ours != plain:
            raise ValueError(f"the floor leaves other rows\nours  {ours}\nfloor {plain}")
        found.append(one)
    return found


def _counts() -> Grown:
    with connection.cursor() as cursor:
        return {name: _count(cursor, name) for name in connection.introspection.table_names()}


def _count(cursor: Any, table: str) -> int:
    cursor.execute(f"SELECT count(*) FROM {table}")
    (rows,) = cursor.fetchone()
    return int(rows)


def _grown(before: Grown, after: Grown) -> Grown:
    return {name: rows - before[name] for name, rows in after.items() if rows > before[name]}


def measure(*, writers: int, seconds: float, rounds: int = ROUNDS) -> Load:
    """Let ours write for `seconds` in all and the bare writers as long; raises what a writer met.

    Raises ValueError when the log of either is not whole afterwards.
    """
    load_profiles()
    houses = int(min(MOST_HOUSES, 2 + seconds * HOUSES_A_SECOND))
    ours, bare = shop(writers, houses), shop(writers, 2)
    copied = templates(bare)
    already = ApplicationRecord.objects.filter(branch=ours.branch).count()
    connections.close_all()
    turns, rates = _in_turns(ours, copied, seconds / rounds, rounds)
    load = Load(*rates, *(_all(turns, name) for name in ("waits", "holds", "inside")))
    refuse_gaps(ours, already + len(load.waits))
    _refuse_broken_chain(bare)
    return load


def _all(turns: list[Turn], name: str) -> tuple[float, ...]:
    return tuple(chain.from_iterable(getattr(turn, name) for turn in turns))


def _in_turns(
    ours: Shop, copied: list[Template], seconds: float, rounds: int
) -> tuple[list[Turn], tuple[tuple[float, ...], tuple[float, ...]]]:
    done = [0] * len(copied)
    turns, real, plain = [], [], []
    fork = multiprocessing.get_context("fork")
    with ProcessPoolExecutor(len(copied), mp_context=fork) as pool:
        for _ in range(rounds):
            rate, written = _turn(pool, _write, list(zip(ours.writers, done, strict=True)), seconds)
            real.append(rate)
            turns += written
            done = [a + len(one.waits) for a, one in zip(done, written, strict=True)]
            plain.append(_turn(pool, _write_bare, [(one,) for one in copied], seconds)[0])
    return turns, (tuple(real), tuple(plain))


def _turn(
    pool: ProcessPoolExecutor, write: Callable[..., Turn], each: list[Any], seconds: float
) -> tuple[float, list[Turn]]:
    begin = monotonic() + ALL_READY_S
    asked = [pool.submit(write, *one, begin, begin + seconds) for one in each]
    turns = [one.result() for one in asked]
    last = max(turn.ended for turn in turns)
    return sum(len(turn.waits) for turn in turns) / (last - begin), turns


def refuse_gaps(ours: Shop, expected: int) -> None:
    """Raise ValueError unless each record has its leaf and the whole log verifies."""
    leaves = LogEntry.objects.filter(branch=ours.branch, kind="record").count()
    found = verify(ours.branch.pk)
    if (leaves, found.size, found.difference) != (expected, expected, ""):
        said = f"{leaves} leaves, {found.size} verified"
        raise ValueError(f"{expected} records, {said}: {found.difference}")
    if drift := protection_drift():
        raise ValueError(f"protections differ from their windows: {drift[:3]}")


def _refuse_broken_chain(bare: Shop) -> None:
    _, differences, _ = verify_chain(bare.branch.pk)
    if differences:
        raise ValueError(f"the floor's log: {differences[0].sentence}")


def as_in_service() -> None:
    """Let commits reach the disk, as they do in a house in service; the suite leaves that out."""
    if connection.vendor == "sqlite":
        connection.settings_dict["OPTIONS"] = SQLITE_OPTIONS
    connections.close_all()


def _rates(rates: tuple[float, ...]) -> str:
    return f"median {median(rates):.1f} ({min(rates):.1f} to {max(rates):.1f})"


def _times(seconds: tuple[float, ...]) -> str:
    middle, most = 1000 * median(seconds), 1000 * max(seconds)
    return f"median {middle:.0f} ms, longest {most:.0f} ms"


def run(*, writers: int = 8, seconds: int = 600) -> Iterator[str]:
    """Write and say the rates; `seconds` are ours alone, the floor takes as long again."""
    as_in_service()
    yield f"recording, {writers} writers: {measure(writers=writers, seconds=seconds)}"
