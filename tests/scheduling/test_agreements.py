"""Agreements from draft to end: papers, evidence, steps, the sweep, the pages."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from hashlib import sha256
from io import BytesIO

import pytest
from pypdf import PdfReader

from accounts.models import AuditEvent, OpenItem
from accounts.permissions import Role
from accounts.refusals import Refused
from scheduling.models import AgreementAcceptance, ServiceAgreement
from scheduling.selectors.agreements import pest_groups_for, re_service_until
from scheduling.services.agreement_watch import watch_agreements
from scheduling.services.agreements import (
    Acceptance,
    accept_agreement,
    edit_agreement,
    edit_program,
    end_agreement,
    offer_agreement,
    pause_agreement,
    resume_agreement,
    take_back_offer,
)
from scheduling.services.demo.agreements import agree_with_some
from scheduling.services.demo.firm import Firm
from sites.models import Property
from tests.agreements import NOW, PROGRAM, TODAY, make_offer, make_signed, make_terms
from tests.factories import (
    client_for,
    make_branch,
    make_customer,
    make_person,
    make_property,
    make_visit,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Property:
    return make_property(make_customer(make_branch()))


def _typed(one: ServiceAgreement) -> Acceptance:
    newest = one.papers.first()
    assert newest is not None
    return Acceptance("typed", "Pat Example", newest.sha256)


def _end(one: ServiceAgreement, ends_on: date, *, both_agree: bool = False) -> None:
    end_agreement(
        agreement_id=one.pk, ends_on=ends_on, both_agree=both_agree, reason="They move.",
        by=None, now=NOW, today=TODAY,
    )  # fmt: skip
    one.refresh_from_db()


def test_the_paper_says_the_terms_and_its_digest_is_that_of_its_bytes(place: Property) -> None:
    paper = make_offer(place).papers.get()
    assert paper.sha256 == sha256(bytes(paper.content)).hexdigest()
    words = " ".join(
        " ".join(page.extract_text() for page in PdfReader(BytesIO(paper.content)).pages).split()
    )
    for said in (
        "Nov 1, 2026 through Oct 31, 2027 (12 months)",
        "$120.00, each service",
        "30 days of notice",
        "Re-service between scheduled services is free while this agreement runs",
        "our planning estimate, not a guarantee; see pests sooner? call us",
        "Overwintering insects, Ants",
        "not a wood-destroying",
        place.customer.name,
    ):
        assert said in words
    assert "bare" not in words and "unprotected" not in words


def test_acceptance_keeps_the_digest_of_what_was_accepted(place: Property) -> None:
    one = make_signed(place)
    kept = AgreementAcceptance.objects.get()
    assert one.state == "active"
    assert kept.sha256 == one.papers.get().sha256
    assert kept.scan_sha256 == sha256(b"%PDF-1.7 signed").hexdigest()
    assert list(one.steps.values_list("old", "new")) == [
        ("offered", "active"),
        ("draft", "offered"),
    ]


def test_a_changed_offer_is_another_version_and_the_old_one_is_not_accepted(
    place: Property,
) -> None:
    one = make_offer(place)
    old = _typed(one)
    take_back_offer(agreement_id=one.pk, reason="Price.", by=None, now=NOW)
    dearer = replace(make_terms(), price=make_terms().price + 1)
    edit_agreement(agreement_id=one.pk, program_id=one.program_id, terms=dearer, by=None)
    offer_agreement(agreement_id=one.pk, by=None, now=NOW, today=TODAY, demo=True)
    with pytest.raises(Refused, match="offer changed"):
        accept_agreement(agreement_id=one.pk, given=old, by=None, now=NOW)
    accept_agreement(agreement_id=one.pk, given=_typed(one), by=None, now=NOW)
    assert [paper.version for paper in one.papers.all()] == [2, 1]


def test_terms_are_changed_in_a_draft_only(place: Property) -> None:
    one = make_signed(place)
    with pytest.raises(Refused, match="Only a draft"):
        edit_agreement(
            agreement_id=one.pk, program_id=one.program_id, terms=make_terms(months=1), by=None
        )


def test_a_program_changed_later_changes_neither_paper_nor_pests(place: Property) -> None:
    one = make_signed(place)
    before = bytes(one.papers.get().content)
    edit_program(program_id=one.program_id, entered=PROGRAM | {"pest_groups": ["rodents"]}, by=None)
    assert bytes(one.papers.get().content) == before
    assert pest_groups_for(place.pk, TODAY) == ("ants", "overwintering")


def test_a_second_running_agreement_of_the_same_program_is_refused(place: Property) -> None:
    first = make_signed(place)
    second = make_offer(place)
    ServiceAgreement.objects.filter(pk=second.pk).update(program=first.program)
    with pytest.raises(Refused, match="End that one first"):
        accept_agreement(agreement_id=second.pk, given=_typed(second), by=None, now=NOW)
    assert not second.papers.filter(acceptance__isnull=False).exists()


def test_re_service_is_free_while_it_runs_and_not_while_it_rests(place: Property) -> None:
    assert re_service_until(place, TODAY) is None
    one = make_signed(place)
    assert re_service_until(place, TODAY) == date(2027, 10, 31)
    assert re_service_until(place.pk, date(2027, 10, 31)) == date(2027, 10, 31)
    assert re_service_until(place, date(2027, 11, 1)) is None
    assert re_service_until(place, date(2026, 10, 31)) is None
    pause_agreement(agreement_id=one.pk, reason="Painting.", by=None, now=NOW)
    assert re_service_until(place, TODAY) is None
    resume_agreement(agreement_id=one.pk, by=None, now=NOW)
    assert re_service_until(place, TODAY) == date(2027, 10, 31)


def test_an_agreement_without_the_promise_promises_nothing(place: Property) -> None:
    make_signed(place, re_service=False)
    assert re_service_until(place, TODAY) is None


def test_an_end_inside_the_notice_needs_both_sides(place: Property) -> None:
    one = make_signed(place)
    with pytest.raises(Refused, match="both sides agree"):
        _end(one, TODAY + timedelta(days=29))
    _end(one, TODAY + timedelta(days=30))
    assert one.state == "active" and one.ends_on == TODAY + timedelta(days=30)
    _end(one, TODAY, both_agree=True)
    assert one.state == "ended"
    with pytest.raises(Refused, match="cannot become"):
        pause_agreement(agreement_id=one.pk, reason="Late.", by=None, now=NOW)


@pytest.mark.parametrize("off", [-1, 400])
def test_a_last_day_outside_the_term_is_refused(place: Property, off: int) -> None:
    with pytest.raises(Refused, match="Choose a day"):
        _end(make_signed(place), TODAY + timedelta(days=off), both_agree=True)


def _items() -> list[str]:
    rows = OpenItem.objects.filter(code="agreement_renewal", closed_at=None)
    return list(rows.values_list("sentence", flat=True))


@pytest.mark.engine
def test_the_sweep_speaks_of_an_agreement_renewal_once_and_ends_the_term(place: Property) -> None:
    one = make_signed(place)
    watch_agreements(today=date(2027, 9, 15), now=NOW)
    assert _items() == []
    for _ in range(2):
        watch_agreements(today=date(2027, 9, 16), now=NOW)  # 45 days before October 31
    assert len(_items()) == 1 and _items()[0].startswith("Agreement renewal at ")
    for _ in range(2):
        watch_agreements(today=date(2027, 11, 1), now=NOW)
    one.refresh_from_db()
    assert (one.state, _items()) == ("ended", [])
    assert one.steps.filter(new="ended").count() == 1


def test_a_term_that_goes_on_gets_the_next_last_day_once(place: Property) -> None:
    one = make_signed(place, starts_on=date(2024, 2, 29), renews=True)
    for _ in range(2):
        watch_agreements(today=date(2027, 3, 1), now=NOW)
    one.refresh_from_db()
    # terms begin Feb 28, 2025, Feb 28, 2026, Feb 28, 2027 and Feb 29, 2028
    assert (one.state, one.ends_on) == ("active", date(2028, 2, 28))
    assert AuditEvent.objects.filter(act="agreement_goes_on").count() == 1


def test_the_office_goes_from_program_to_signature_on_the_pages(place: Property) -> None:
    client = client_for(make_person([Role.OFFICE], branch=place.branch))
    program = PROGRAM | {"every_days": "", "by_residual": "on"}
    assert client.post("/programs/add/", program).status_code == 302
    terms = {
        "program": "1", "starts_on": "2026-11-01", "months": "12", "notice_days": "30",
        "price": "99.50", "price_per": "service", "re_service": "on",
    }  # fmt: skip
    page = client.get(f"/properties/{place.pk}/agreement/")
    terms["program"] = str(page.context["form"].fields["program"].choices[0][0])
    client.post(f"/properties/{place.pk}/agreement/", terms)
    one = ServiceAgreement.objects.get()
    assert client.post(f"/agreements/{one.pk}/offer/").status_code == 302
    url = f"/agreements/{one.pk}/accept/"
    typed = {"sha256": one.papers.get().sha256, "signer": "Pat Example", "how": "drawn"}
    refused = client.post(url, typed)
    assert refused.status_code == 422 and "Draw the signature" in refused.content.decode()
    drawn = typed | {"signature": "M10 10L20 20L30 10L40 20L50 10"}
    assert client.post(url, drawn).status_code == 302
    shown = client.get(f"/agreements/{one.pk}/").content.decode()
    assert 'd="M10 10L20 20L30 10L40 20L50 10"' in shown and "Pat Example" in shown
    paper = client.get(f"/agreements/{one.pk}/paper-1.pdf")
    assert sha256(paper.content).hexdigest() == one.papers.get().sha256


def test_property_and_customer_show_the_agreement_and_no_figure_of_money(place: Property) -> None:
    one = make_signed(place)
    client = client_for(make_person([Role.OFFICE], branch=place.branch))
    shown = client.get(place.get_absolute_url()).content.decode()
    assert one.get_absolute_url() in shown
    assert "Kept elsewhere until accounts are switched on." in shown
    assert one.get_absolute_url() in client.get(place.customer.get_absolute_url()).content.decode()


@pytest.mark.parametrize("state", ["", "active", "nonsense"])
def test_the_list_narrows_by_state(place: Property, state: str) -> None:
    make_signed(place)
    make_offer(place)
    client = client_for(make_person([Role.OFFICE], branch=place.branch))
    page = client.get("/agreements/", {"state": state})
    assert page.status_code == 200
    assert len(page.context["page"].object_list) == (1 if state == "active" else 2)


def test_the_demo_firm_has_an_agreement_in_each_state_before_the_end() -> None:
    office = make_person([Role.OFFICE], branch=make_branch())
    for number in range(7):
        customer = make_customer(office.branch, kind="commercial" if number == 2 else "residential")
        make_visit(make_property(customer), office, day=TODAY - timedelta(days=number))
    firm = Firm(branches={}, people={"office@demo.example": office})
    said = agree_with_some(firm=firm, today=TODAY, now=NOW)
    assert said == ("4 active, 1 draft, 1 offered, 1 paused.",)
    assert len(_items()) == 1  # of the term that began 330 days ago
