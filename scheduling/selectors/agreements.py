"""Reading programs and agreements."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from django.http import Http404
from django.shortcuts import get_object_or_404

from accounts.permissions import Permission, allows
from accounts.rules.day_words import short_day
from accounts.rules.phones import readable
from accounts.selectors.people import branches_for
from scheduling.models import (
    AgreementAcceptance,
    AgreementPaper,
    AgreementStep,
    ServiceAgreement,
    ServiceProgram,
)
from scheduling.reports.agreement_words import AgreementSheet
from scheduling.rules.agreement_states import AgreementState
from scheduling.rules.agreements import (
    ESTIMATE,
    NO_RE_SERVICE,
    RE_SERVICE,
    Terms,
    cancel_words,
    is_renewal_near,
    term_words,
)
from sites.rules.findings import NOT_WOOD_DESTROYING

if TYPE_CHECKING:
    from django.db.models import QuerySet

    from accounts.models import Person
    from sites.models import Property


@dataclass(frozen=True)
class AgreementPage:
    """Everything the sheet of one agreement shows."""

    agreement: ServiceAgreement
    papers: tuple[AgreementPaper, ...]
    steps: tuple[AgreementStep, ...]
    accepted: AgreementAcceptance | None
    is_renewal_near: bool
    term: str
    cancel: str
    promise: str

    @property
    def newest(self) -> AgreementPaper | None:
        return self.papers[0] if self.papers else None


def programs() -> QuerySet[ServiceProgram]:
    """Every program of the firm, by name."""
    return ServiceProgram.objects.all()


def program_for(pk: int) -> ServiceProgram:
    """One program, else Http404."""
    return get_object_or_404(ServiceProgram, pk=pk)


def agreements_for(person: Person | None) -> QuerySet[ServiceAgreement]:
    """Agreements of properties of the person's branches, the latest begun first."""
    rows = ServiceAgreement.objects.select_related(
        "property__customer", "property__branch", "program"
    )
    if person is None:
        return rows
    if not allows(person, Permission.SEE_CUSTOMERS):
        return rows.none()
    return rows.filter(property__branch__in=branches_for(person))


def agreement_for(person: Person | None, pk: int) -> ServiceAgreement:
    """One agreement the person may see, else Http404."""
    return get_object_or_404(agreements_for(person), pk=pk)


def agreements_at(property_ids: Collection[int]) -> list[ServiceAgreement]:
    """Agreements of these properties, whoever may see the properties."""
    rows = ServiceAgreement.objects.filter(property__in=property_ids)
    return list(rows.select_related("program", "property"))


def agreement_page(person: Person, pk: int, today: date) -> AgreementPage:
    """Read the sheet of one agreement, in a fixed number of queries."""
    one = agreement_for(person, pk)
    papers = one.papers.defer("content").select_related("created_by")
    accepted = AgreementAcceptance.objects.filter(paper__agreement=one).defer("scan")
    is_near = one.state == AgreementState.ACTIVE and is_renewal_near(one.ends_on, today)
    return AgreementPage(
        agreement=one,
        papers=tuple(papers),
        steps=tuple(one.steps.select_related("created_by")),
        accepted=accepted.select_related("created_by", "paper").first(),
        is_renewal_near=is_near,
        term=term_words(one.terms()),
        cancel=cancel_words(one.terms()),
        promise=promise_words(one.terms()),
    )


def promise_words(terms: Terms) -> str:
    """What is said about re-service."""
    return RE_SERVICE if terms.re_service else NO_RE_SERVICE


def paper_for(person: Person, agreement_id: int, version: int) -> AgreementPaper:
    """One version of an agreement as it was offered, else Http404."""
    return get_object_or_404(agreement_for(person, agreement_id).papers, version=version)


def scan_of(person: Person, agreement_id: int) -> bytes:
    """The scan of the signed paper, else Http404."""
    rows = AgreementAcceptance.objects.filter(paper__agreement=agreement_for(person, agreement_id))
    found = rows.first()
    if found is None or not found.scan:
        raise Http404
    return bytes(found.scan)


def agreement_sheet(
    one: ServiceAgreement, version: int, day: date, *, demo: bool
) -> AgreementSheet:
    """The words of the next paper of an agreement."""
    place, branch, program = one.property, one.property.branch, one.program
    promise = promise_words(one.terms())
    phone = f"Phone {readable(branch.phone)}." if branch.phone else ""
    return AgreementSheet(
        number=f"{one.pk}-{version}",
        offered=short_day(day, True),
        firm=branch.name,
        firm_lines=phone,
        customer=place.customer.name,
        address=place.address,
        program=program.name,
        lines=(
            ("Pests covered", program.pest_words),
            ("Where", program.place_words),
            ("How", program.method_words),
            ("When we come", f"{program.rhythm} {ESTIMATE}"),
            ("Term", term_words(one.terms())),
            ("Price", one.price_words()),
            ("Re-service", promise),
            ("Ending it", cancel_words(one.terms())),
        ),
        cautions=(NOT_WOOD_DESTROYING, LABEL_GOVERNS),
        demo=demo,
    )


LABEL_GOVERNS = (
    "What is put down, where and how often is governed by the product's label, local rules and "
    "licensed practice; where they forbid a treatment we inspect or use another method."
)


def pest_groups_for(property_id: int, day: date) -> tuple[str, ...]:
    """The pest groups the running agreements of a property cover; empty where none says."""
    found = [one for one in agreements_at([property_id]) if one.runs_on(day)]
    papers = AgreementPaper.objects.filter(agreement__in=found).exclude(acceptance=None)
    groups = papers.values_list("pest_groups", flat=True)
    return tuple(sorted({group for some in groups for group in some}))


def re_service_until(place: Property | int, day: date) -> date | None:
    """Through which day re-service at a property is free; None where no agreement promises it.

    `place` is a property or its key. A paused or ended agreement promises nothing on that day.
    """
    key = place if isinstance(place, int) else place.pk
    promised = [one for one in agreements_at([key]) if one.re_service and one.runs_on(day)]
    return max((one.ends_on for one in promised), default=None)
