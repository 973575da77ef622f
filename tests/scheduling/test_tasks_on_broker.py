"""The sweep as a task: at once on the embedded default, through a real broker where there is one.

On the second engine the suite has started a server of the Redis protocol; the message then goes
through it to a worker with a database connection of its own.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from datetime import timedelta

import pytest
import redis
from celery.contrib.testing.worker import start_worker
from django.conf import settings
from django.utils import timezone

from accounts.models import Person
from config.celery import app
from scheduling.models import Renewal
from scheduling.tasks import sweep
from tests.factories import (
    make_customer,
    make_label,
    make_property,
    make_record,
    make_window,
    make_zone,
)
from treatments.models import ZoneProtection

pytestmark = [pytest.mark.engine, pytest.mark.django_db(transaction=True)]
DELIVERED_WITHIN_S = 30


@pytest.fixture
def lapsing(technician: Person) -> ZoneProtection:
    """A window that lapses in ten days and has no renewal yet."""
    zone = make_zone(make_property(make_customer(technician.branch)))
    applied_on = timezone.now().date() - timedelta(days=80)
    window = make_window(make_record(zone, technician, make_label(), applied_on=applied_on))
    return ZoneProtection.objects.create(
        zone=zone, pest_group=window.pest_group, window=window, expires_on=window.expires_on
    )


@contextmanager
def _worker_on_broker() -> Iterator[None]:
    app.conf.update(broker_url=settings.REDIS_URL, task_always_eager=False)
    try:
        with start_worker(app, pool="solo", perform_ping_check=False):
            yield
            _wait_until_taken()
    finally:
        app.conf.update(task_always_eager=True)


def _wait_until_taken() -> None:
    """Wait until no message is left; a worker that is told to stop ends what it has begun."""
    queue = redis.Redis.from_url(settings.REDIS_URL)
    until = time.monotonic() + DELIVERED_WITHIN_S
    while queue.llen("celery") and time.monotonic() < until:
        time.sleep(0.05)
    assert not queue.llen("celery")


def _wait_for_a_renewal() -> None:
    until = time.monotonic() + DELIVERED_WITHIN_S
    while not Renewal.objects.exists() and time.monotonic() < until:
        time.sleep(0.05)


def test_a_sweep_that_was_sent_opens_the_renewal_once(lapsing: ZoneProtection) -> None:
    with _worker_on_broker() if settings.REDIS_URL else nullcontext():
        for _ in range(2):
            sweep.delay()
            _wait_for_a_renewal()
    renewal = Renewal.objects.get()
    assert renewal.lapses_on == lapsing.expires_on
    assert [line.window for line in renewal.zones.all()] == [lapsing.window]


def test_the_second_engine_has_its_broker() -> None:
    """Without this, a run without a broker would look like one with it."""
    is_second = settings.DATABASES["default"]["ENGINE"].endswith("postgresql")
    assert bool(settings.REDIS_URL) == is_second
    if is_second:
        assert redis.Redis.from_url(settings.REDIS_URL).ping()
