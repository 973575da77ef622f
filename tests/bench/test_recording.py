"""Writers at once: no error, no gap, a whole log, and a floor that leaves the same rows."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from accounts.models import Person
from tests.bench.floors.recording import floor
from tests.bench.recording import measure, refuse_gaps, templates
from tests.bench.recording_shop import shop
from treatments.models import LogEntry
from treatments.services.recording import record_application

MOST_STATEMENTS, MOST_UNDER_THE_LOCK = 36, 24
pytestmark = [pytest.mark.engine, pytest.mark.django_db(transaction=True)]


def test_writers_at_once_leave_a_whole_log() -> None:
    load = measure(writers=2, seconds=2, rounds=1)
    assert len(load.waits) == len(load.holds) == len(load.inside) >= 2
    assert all(a >= b >= c > 0 for a, b, c in zip(load.waits, load.holds, load.inside, strict=True))


def test_a_floor_that_leaves_fewer_rows_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tests.bench.recording.floor", lambda one: None)
    with pytest.raises(ValueError, match="other rows"):
        templates(shop(1, 2))


def test_the_floor_leaves_a_leaf_of_the_same_words() -> None:
    (one,) = templates(shop(1, 2))
    floor(one)
    last, before = LogEntry.objects.order_by("-seq")[:2]
    assert (last.seq, before.seq) == (3, 2)
    assert len(last.leaf) == len(before.leaf)


def test_a_record_without_its_leaf_is_a_gap() -> None:
    one = shop(1, 2)
    (writer,) = one.writers
    work = writer.application(0)
    person = Person.objects.get(pk=writer.person_id)
    record_application(application=work, by=person, now=work.finished_at)
    refuse_gaps(one, 1)
    with pytest.raises(ValueError, match="2 records"):
        refuse_gaps(one, 2)


def test_statements_do_not_grow_with_history() -> None:
    (writer,) = shop(1, 2).writers
    person = Person.objects.get(pk=writer.person_id)
    counted = []
    for number in range(0, 12, 2):
        work = writer.application(number)
        with CaptureQueriesContext(connection) as seen:
            record_application(application=work, by=person, now=work.finished_at)
        counted.append(len(seen))
    # the first makes the label one in use, the second is the first to keep it
    assert len(set(counted[2:])) == 1
    assert counted[-1] <= MOST_STATEMENTS


def test_what_needs_no_lock_is_read_before_it_is_taken() -> None:
    (writer,) = shop(1, 2).writers
    person = Person.objects.get(pk=writer.person_id)
    for number in (0, 2):
        work = writer.application(number)
        with CaptureQueriesContext(connection) as seen:
            record_application(application=work, by=person, now=work.finished_at)
    said = [one["sql"] for one in seen]
    begun = next(at for at, sql in enumerate(said) if sql.startswith("BEGIN"))
    assert len(said) - begun <= MOST_UNDER_THE_LOCK
    before, under = " ".join(said[:begun]), " ".join(said[begun:])
    for table in ("labellimit", "applicatorlicense", "jurisdictionprofile", "preference"):
        assert table in before
        assert table not in under
    # what was put down there before, and how large the zones are, waits for the turn
    for table in ("treatedarea", "treatablezone"):
        assert f'FROM "{"sites" if "zone" in table else "treatments"}_{table}"' not in before
