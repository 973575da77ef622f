"""A label that was used is withdrawn by a row of its own, and the row may be lifted again.

A lot is judged by its own label until that one is withdrawn: what the trade insists on, 10.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from accounts.models import AuditEvent, Person
from accounts.refusals import Refused
from scheduling.selectors.board import load_rows
from tests.factories import client_for, make_label, make_product
from tests.treatments import load_cases
from tests.treatments.conftest import NOW, House
from tests.treatments.label_entries import refused_by
from tests.treatments.load_cases import mixed, mixing, settled
from tests.treatments.stock_cases import Shelf, shelf
from tests.treatments.test_checks import ask
from treatments.models import (
    ApplicationRecord,
    LabelUse,
    LabelVersion,
    LabelWithdrawal,
    UnlistedUseDecision,
)
from treatments.selectors.alternatives import instead_of
from treatments.selectors.label_comparison import compared
from treatments.selectors.label_pages import label_page, label_rows
from treatments.selectors.labels import directions_in_force, labels_in_force
from treatments.selectors.stock_page import lot_page, stock_page
from treatments.services.labels import edit_label
from treatments.services.loads import mix_load
from treatments.services.recording import record_application
from treatments.services.withdrawals import lift_withdrawal, withdraw_label

__all__ = ["shelf"]
pytestmark = [pytest.mark.engine, pytest.mark.django_db]
TODAY = NOW.date()
YESTERDAY = TODAY - timedelta(days=1)
REASON = "Recalled by the maker."


def withdrawn(version: LabelVersion, by: Person | None, last: date = YESTERDAY) -> LabelWithdrawal:
    """Withdrawn from a day on."""
    return withdraw_label(label_version_id=version.pk, last_day=last, reason=REASON, by=by, now=NOW)


@pytest.fixture
def used(house: House) -> LabelVersion:
    """The house's label, verified and used by one record."""
    record_application(application=house.application(), by=house.technician, now=NOW)
    return house.use.label_version


def test_a_used_and_verified_label_is_withdrawn_and_lifted(
    used: LabelVersion, manager: Person
) -> None:
    assert list(labels_in_force(TODAY)) == [used]
    row = withdrawn(used, manager)
    assert (row.reason, row.created_by, row.at) == (REASON, manager, NOW)
    assert list(labels_in_force(YESTERDAY)) == [used] and not labels_in_force(TODAY).exists()
    lift_withdrawal(label_version_id=used.pk, reason="Checked anew.", by=manager, now=NOW)
    assert list(labels_in_force(TODAY)) == [used]
    assert used.withdrawals.count() == 2  # nothing is taken away
    acts = AuditEvent.objects.filter(thing__endswith=f"labelversion:{used.pk}").values_list(
        "act", flat=True
    )
    assert {"withdraw_label", "lift_withdrawal"} <= set(acts)


def test_a_label_withdrawn_is_not_replaced_by_the_one_before(manager: Person) -> None:
    product = make_product()
    make_label(product, effective_on=date(2026, 1, 1))
    last = make_label(product, effective_on=date(2026, 6, 1))
    withdrawn(last.label_version, manager)
    assert directions_in_force(YESTERDAY) == [last]
    assert directions_in_force(TODAY) == []
    ((_, rows),) = label_rows(TODAY)
    assert [row.word for row in rows] == ["Withdrawn", "Superseded"]


def test_mixing_after_the_last_day_is_refused_with_the_reason(
    shelf: Shelf, manager: Person
) -> None:
    house = shelf.house
    assert ask(house, on=TODAY).is_allowed
    withdrawn(house.use.label_version, manager)
    assert ask(house, on=YESTERDAY).is_allowed
    answer = ask(house, on=TODAY)
    said = next(one for one in answer.judgements if one.code == "version")
    assert not answer.is_allowed
    assert said.sentence == (
        "This label is withdrawn, not to be used after Nov 24, 2026: Recalled by the maker."
    )
    assert "Return or dispose" in said.to_do
    refused = refused_by(mix_load, mixing=mixing(house), by=house.technician, now=NOW)
    assert "withdrawn" in refused.sentence and REASON in refused.sentence


def test_a_record_put_down_after_it_is_a_violation(house: House, manager: Person) -> None:
    withdrawn(house.use.label_version, manager)
    done = record_application(application=house.application(), by=house.technician, now=NOW)
    said = done.record.judgements.get(code="version")
    assert said.severity == "violation" and REASON.rstrip(".") in said.sentence
    page = label_page(house.use.label_version_id, TODAY)
    assert page.withdrawal.records_after == (done.record.pk,)


def test_a_load_mixed_before_is_marked_and_what_was_put_out_is_a_violation(
    house: House, manager: Person
) -> None:
    load = mixed(house)
    withdrawn(house.use.label_version, manager, last=TODAY)
    tomorrow = NOW + timedelta(days=1)
    (row,) = load_rows(house.technician, NOW)
    assert (row.is_withdrawn, row.stopped) == (False, "")  # the last day itself still counts
    (row,) = load_rows(house.technician, tomorrow)
    assert (row.stopped, "label withdrawn" in row.words) == ("Label withdrawn", True)
    assert row.time_left.startswith("not to be used after Nov 25, 2026: Recalled by the maker")
    # where it went is known to the end: the record names the load and says what was broken
    times = {"started_at": tomorrow - timedelta(hours=1), "finished_at": tomorrow}
    record = load_cases.used(house, load, now=tomorrow, **times).record
    assert record.load_ref == load.ref
    assert record.judgements.get(code="version").severity == "violation"
    assert settled(house, load, "disposed", "2.4", tomorrow, how="As the label says", where="Yard")


def test_what_was_judged_before_stays_as_it_was(used: LabelVersion, manager: Person) -> None:
    record = ApplicationRecord.objects.get(label_version=used)
    withdrawn(used, manager)
    assert not record.judgements.filter(code="version").exists()


def test_a_lot_of_another_label_is_offered_instead(shelf: Shelf, manager: Person) -> None:
    """The truck holds one lot of the withdrawn label and one of the label after it."""
    house = shelf.house
    old = house.use.label_version
    new = make_label(
        old.product, pests=[house.pest], label_date=date(2026, 6, 1), effective_on=date(2026, 6, 1)
    )
    for number, version in (("L-1", old.pk), ("L-2", new.label_version_id)):
        shelf.load(shelf.receive(number, label_version_id=version), "8")
    withdrawn(old, manager)
    answer = ask(house, on=TODAY)
    said = next(one for one in answer.judgements if one.code == "version")
    assert "Take lot L-2 (label of Jun 1, 2026) from your truck" in said.to_do
    found = instead_of(answer, directions_in_force(TODAY), Decimal(1))
    assert [one.use for one in found.lots] == [new]


def test_the_shelf_says_what_to_do_with_it(shelf: Shelf, manager: Person) -> None:
    lot = shelf.receive()
    withdrawn(shelf.house.use.label_version, manager)
    (row,) = stock_page(manager, TODAY).rows
    assert (row.word, row.is_usable) == ("Label withdrawn", False)
    for words in (row.to_do, lot_page(manager, lot.pk, TODAY).to_do):
        assert words.startswith("Not to be used after Nov 24, 2026: Recalled by the maker.")
        assert "Return it to the dealer, or dispose of it" in words
    html = client_for(manager).get("/stock/").content.decode()
    assert f"/stock/lots/{lot.pk}/dispose/" in html and "of a withdrawn label" in html
    (row,) = stock_page(manager, YESTERDAY).rows
    assert (row.state, row.word) == ("check", "Label until Nov 24, 2026")


def test_what_is_refused(used: LabelVersion, manager: Person, technician: Person) -> None:
    facts: dict[str, Any] = {"label_version_id": used.pk, "by": manager, "now": NOW}
    assert "not withdrawn" in refused_by(lift_withdrawal, reason="x", **facts).sentence
    withdrawn(used, manager)
    again = refused_by(withdraw_label, last_day=YESTERDAY, reason="x", **facts)
    assert again.facts["field"] == "last_day"
    for act in (
        lambda: withdraw_label(last_day=TODAY, reason=" ", **facts),
        lambda: lift_withdrawal(reason=" ", **facts),
    ):
        assert refused_by(act).facts["field"] == "reason"
    draft = make_label(make_product("Demonstration Q SC"), is_draft=True, is_verified=False)
    entered = facts | {"label_version_id": draft.label_version_id}
    assert (
        "still being entered"
        in refused_by(withdraw_label, last_day=TODAY, reason="x", **entered).sentence
    )
    with pytest.raises(Refused) as refused:
        withdrawn(used, technician)
    assert refused.value.code == "not_permitted"
    assert LabelWithdrawal.objects.count() == 1


def test_the_pages_withdraw_and_lift(used: LabelVersion, manager: Person) -> None:
    client, url = client_for(manager), used.get_absolute_url()
    answer = client.post(f"{url}withdraw/", {"last_day": "2026-11-24", "reason": ""})
    assert answer.status_code == 422 and 'value="2026-11-24"' in answer.content.decode()
    answer = client.post(f"{url}withdraw/", {"last_day": "2026-11-24", "reason": REASON})
    assert answer.status_code == 302
    html = client.get(url).content.decode()
    assert "Not to be used after Nov 24, 2026" in html and "Lift the withdrawal" in html
    assert client.post(f"{url}lift/", {"reason": "Wrong label."}).status_code == 302
    html = client.get(url).content.decode()
    assert "Withdrawal lifted" in html and REASON in html and "note stop" not in html


def test_an_unused_label_is_withdrawn_the_same_way_and_still_edited(manager: Person) -> None:
    version = make_label(is_verified=False).label_version
    withdrawn(version, manager)
    edit_label(label_version_id=version.pk, by=manager, today=TODAY, precautions="Fish.")
    assert LabelVersion.objects.get(pk=version.pk).precautions == "Fish."


def test_two_labels_beside_each_other_show_the_withdrawal(
    used: LabelVersion, manager: Person
) -> None:
    new = make_label(used.product, effective_on=date(2026, 6, 1)).label_version
    withdrawn(used, manager)
    _, _, changes = compared(new.pk)
    (row,) = (one for one in changes if one.name == "Withdrawal")
    assert (row.kind, row.old) == (
        "removed",
        "Not to be used after Nov 24, 2026. Recalled by the maker.",
    )


def test_two_labels_beside_each_other_show_what_was_decided_and_proposed(
    house: House, manager: Person
) -> None:
    use = house.use
    signed = {"decided_by": manager, "decided_on": TODAY, "decided_at": NOW, "reason": "Low risk."}
    for _ in range(2):
        UnlistedUseDecision.objects.create(
            property=house.place, label_use=use, method="foam", is_allowed=True,
            license_number="C-1", license_state="OH", **signed,
        )  # fmt: skip
    UnlistedUseDecision.objects.create(property=house.place, label_use=use, method="dust")  # asked
    LabelUse.objects.filter(pk=use.pk).update(rate_min=Decimal("0.3"))
    _, _, changes = compared(use.label_version_id)
    of_the_firm = {one.name: one.new for one in changes if one.part == "What the firm says"}
    assert of_the_firm == {
        "Outside perimeter band, foam decided": "allowed 2 ×",
        "Outside perimeter band, proposed": "Low rate, 0.30 fl oz per 1,000 sq ft",
    }
