"""Sweeps killed with -9 wherever they are, then two at once: nothing missing, nothing double."""

from __future__ import annotations

import multiprocessing
import os
from collections import Counter
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from random import Random
from time import monotonic, sleep

from django.db import connections

from accounts.permissions import Role
from scheduling.models import Renewal, RenewalZone
from scheduling.services import sweep as sweeping
from tests.factories import (
    TODAY,
    make_branch,
    make_customer,
    make_person,
    make_property,
    make_record,
    make_window,
    make_zone,
)
from treatments.services.protections import refresh_protections

NOW = datetime(2026, 11, 25, 15, tzinfo=UTC)
A_BATCH = 4  # properties in one transaction: a kill then falls between and inside of many
FORK = multiprocessing.get_context("fork")


@dataclass(frozen=True)
class Outcome:
    """How often a sweep was killed before its end, and what stands wrong after the last two."""

    killed: int
    windows: int
    missing: int
    double: int
    empty: int

    @property
    def is_whole(self) -> bool:
        return not (self.missing or self.double or self.empty)

    def __str__(self) -> str:
        return (
            f"{self.killed} sweeps killed before their end; of {self.windows} windows "
            f"{self.missing} missing, {self.double} double; {self.empty} renewals without a zone"
        )


def build(properties: int) -> set[int]:
    """Properties whose two zones lapse within the lead; the keys of their windows."""
    branch = make_branch("Faults")
    technician, customer = make_person([Role.TECHNICIAN], branch), make_customer(branch)
    windows = set()
    for number in range(properties):
        place = make_property(customer)
        for zone in (make_zone(place), make_zone(place)):
            on = TODAY - timedelta(days=65 + number % 20)
            windows.add(make_window(make_record(zone, technician, applied_on=on)).pk)
            refresh_protections([zone.pk])
    return windows


def run(*, rounds: int, seed: int, properties: int) -> Outcome:
    """Kill `rounds` sweeps at moments drawn from `seed`, then let two sweep at once."""
    windows, draw = build(properties), Random(seed)
    killed, longest = 0, 0.02
    for _ in range(rounds):
        was_killed, seconds = _killed(draw.uniform(0, longest))
        killed += was_killed
        # one that ended by itself ended too soon: the next ones find less to do
        longest = longest * 1.5 if was_killed else max(0.02, seconds / 2)
    both = [_start() for _ in range(2)]
    for one in both:
        one.join()
        if one.exitcode:
            raise RuntimeError(f"A sweep that nobody killed ended with {one.exitcode}.")
    return _outcome(windows, killed)


def _start() -> multiprocessing.process.BaseProcess:
    connections.close_all()
    child = FORK.Process(target=_sweep)
    child.start()
    return child


def _sweep() -> None:
    """One sweep in a process of its own, without the parent's ways to end."""
    sweeping.PROPERTIES_A_BATCH = A_BATCH
    code = 1
    try:
        sweeping.sweep(today=TODAY, now=NOW)
        code = 0
    finally:
        os._exit(code)


def _killed(after: float) -> tuple[bool, float]:
    begun, child = monotonic(), _start()
    sleep(after)
    child.kill()
    child.join()
    return child.exitcode == -9, monotonic() - begun


def _outcome(windows: set[int], killed: int) -> Outcome:
    held = Counter(RenewalZone.objects.values_list("window_id", flat=True))
    return Outcome(
        killed=killed,
        windows=len(windows),
        missing=len(windows - set(held)),
        double=sum(many > 1 for many in held.values()),
        empty=Renewal.objects.filter(zones=None).count(),
    )


def full(*, rounds: int, seed: int) -> tuple[bool, str]:
    """Full rounds over 200 properties: whether nothing is missing or double, and in words."""
    outcome = run(rounds=rounds, seed=seed, properties=200)
    return outcome.is_whole and outcome.killed > 0, str(outcome)
