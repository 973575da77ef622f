"""Attacks on the log itself that commit: a rebuilt table, a clock ahead, a reference used twice."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.core.management import call_command
from django.db import DatabaseError, connection, models, transaction

from accounts.append_only import missing
from accounts.refusals import Refused
from scheduling.management import serving
from tests.attacks import DELETES, UPDATES, refused, sql
from tests.guards_off import all_guards
from tests.treatments.conftest import NOW, House
from treatments.models import ApplicationRecord, LogEntry, SignedHead
from treatments.rules.applications import Entered
from treatments.selectors.log import verify
from treatments.selectors.log_keys import key_fingerprint
from treatments.services.log_heads import sign_heads
from treatments.services.recording import record_application

pytestmark = pytest.mark.engine
GUARDED = (LogEntry, SignedHead, ApplicationRecord)


def whole(house: House) -> bool:
    return verify(house.place.branch_id, key=key_fingerprint(), now=NOW).is_whole


def _rebuild(model: type[models.Model]) -> None:
    """What a later migration does to a table; on PostgreSQL, what its owner can do."""
    table = model._meta.db_table
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
            for (name,) in cursor.fetchall():
                cursor.execute(f"DROP TRIGGER {name}")  # as `lift` does before every plan
        with connection.schema_editor() as editor:
            editor._remake_table(model)
    else:
        for act in ("update", "delete", "truncate"):
            sql(f"DROP TRIGGER {table}_keep_{act} ON {table}")


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("model", GUARDED, ids=lambda model: model.__name__)
def test_a_rebuilt_table_loses_no_row_and_serves_again_only_with_its_guards(
    three: House, model: type[models.Model]
) -> None:
    sign_heads(now=NOW)
    _rebuild(model)
    assert model._meta.db_table in missing(connection, all_guards())
    with pytest.raises(serving.CommandError, match=model._meta.db_table):
        serving._refuse_without_guards()
    call_command("migrate", verbosity=0)
    assert missing(connection, all_guards()) == []
    row = model._default_manager.order_by("pk").first()
    assert row is not None
    for attack in (*UPDATES, *DELETES):
        refused(attack, row)
    assert whole(three)


@pytest.mark.django_db
def test_a_leaf_slipped_in_is_found(three: House) -> None:
    """An insert is what an append-only table allows; the frontier and the heads do not."""
    sign_heads(now=NOW)
    last = LogEntry.objects.order_by("-seq")[0]
    last.pk, last.seq = None, last.seq + 1
    last.save(force_insert=True)
    found = verify(three.place.branch_id, key=key_fingerprint(), now=NOW)
    assert found.difference.startswith("Leaf 3 ")
    with pytest.raises(DatabaseError), transaction.atomic():
        LogEntry.objects.create(
            branch_id=three.place.branch_id, seq=1, kind="note", at=NOW, leaf=b"{}", leaf_hash="0"
        )


@pytest.mark.django_db
def test_work_dated_an_hour_ahead_is_refused(three: House) -> None:
    ahead = three.application(
        started_at=NOW + timedelta(minutes=40), finished_at=NOW + timedelta(hours=1)
    )
    with pytest.raises(Refused):
        record_application(application=ahead, by=three.technician, now=NOW)
    assert LogEntry.objects.count() == 3


@pytest.mark.django_db
def test_a_reference_with_other_content_is_refused_and_leaves_no_leaf(three: House) -> None:
    first = ApplicationRecord.objects.order_by("pk")[0]
    again = three.application(client_ref=first.client_ref, product_amount=Entered("9", "fl_oz"))
    with pytest.raises(Refused, match="already names another record"):
        record_application(application=again, by=three.technician, now=NOW)
    assert LogEntry.objects.count() == 3 and whole(three)
