"""Programs and agreements: made, offered, accepted, paused, ended."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts.guards import kept_private, person_of, requires
from accounts.permissions import Permission
from accounts.selectors.pages import local_today, page_of
from accounts.views.one_form import FormPage, form_page, one_form, posted, saved
from scheduling.forms.agreements import (
    TERM_FIELDS,
    AcceptForm,
    AgreementFilter,
    AgreementForm,
    EndForm,
    ProgramForm,
    ReasonForm,
    terms_of,
)
from scheduling.rules.signatures import scan_type
from scheduling.selectors.agreements import (
    agreement_for,
    agreement_page,
    agreements_for,
    paper_for,
    program_for,
    programs,
    scan_of,
)
from scheduling.services.agreements import (
    Acceptance,
    accept_agreement,
    add_program,
    draft_agreement,
    edit_agreement,
    edit_program,
    end_agreement,
    offer_agreement,
    pause_agreement,
    resume_agreement,
    take_back_offer,
)
from sites.selectors.properties import property_for

RHYTHM = "What is changed counts for offers made from now on; papers keep their words."


def _today(request: HttpRequest) -> date:
    return local_today(person_of(request), timezone.now())


@requires(Permission.SEE_CUSTOMERS)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """Agreements by their first day, the latest first."""
    form = AgreementFilter(request.GET)
    rows = agreements_for(person_of(request)).filter(**form.wanted())
    page = page_of(rows, request.GET.get("page"))
    return render(request, "scheduling/agreements.html", {"page": page, "form": form})


@requires(Permission.SEE_CUSTOMERS)
@require_GET
def program_list(request: HttpRequest) -> HttpResponse:
    """What the firm offers."""
    page = page_of(programs(), request.GET.get("page"))
    return render(request, "scheduling/programs.html", {"page": page})


@requires(Permission.EDIT_AGREEMENTS)
@require_http_methods(["GET", "POST"])
def program_add(request: HttpRequest) -> HttpResponse:
    """Make a program."""
    person, form = person_of(request), ProgramForm(posted(request))
    page = FormPage("New program", "Add the program", reverse("programs"), "The program is added.")
    return one_form(request, form, page, lambda entered: add_program(entered=entered, by=person))


@requires(Permission.EDIT_AGREEMENTS)
@require_http_methods(["GET", "POST"])
def program_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a program."""
    person, program = person_of(request), program_for(pk)
    form = ProgramForm(posted(request), initial=vars(program))
    page = FormPage(program.name, "Save", reverse("programs"), "The program is saved.", RHYTHM)
    return one_form(
        request,
        form,
        page,
        lambda entered: edit_program(program_id=pk, entered=entered, by=person),
    )


def _offered() -> dict[str, Any]:
    return {"program": [(one.pk, one.name) for one in programs()]}


@requires(Permission.EDIT_AGREEMENTS)
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest, pk: int) -> HttpResponse:
    """Draft an agreement for a property."""
    person, place = person_of(request), property_for(person_of(request), pk)
    form = AgreementForm(posted(request), rows=_offered(), initial={"starts_on": _today(request)})
    page = FormPage(
        "New agreement", "Make the draft", place.get_absolute_url(), "", str(place), two=True
    )
    made: list[Any] = []

    def draft(entered: dict[str, Any]) -> None:
        program, terms = entered["program"], terms_of(entered)
        made.append(draft_agreement(property_id=pk, program_id=program, terms=terms, by=person))

    if form.is_bound and saved(form, draft):
        return redirect(made[0])
    return form_page(request, form, page)


@requires(Permission.EDIT_AGREEMENTS)
@require_http_methods(["GET", "POST"])
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a draft."""
    person, one = person_of(request), agreement_for(person_of(request), pk)
    initial = {name: getattr(one, name) for name in TERM_FIELDS} | {"program": one.program_id}
    form = AgreementForm(posted(request), rows=_offered(), initial=initial)
    page = FormPage(
        f"Change {one}", "Save the draft", one.get_absolute_url(), "The draft is saved.", two=True
    )
    return one_form(
        request,
        form,
        page,
        lambda entered: edit_agreement(
            agreement_id=pk, program_id=entered["program"], terms=terms_of(entered), by=person
        ),
    )


@requires(Permission.SEE_CUSTOMERS)
@require_GET
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """One agreement with its papers, evidence and steps."""
    sheet = agreement_page(person_of(request), pk, _today(request))
    return render(
        request, "scheduling/agreement.html", {"sheet": sheet, "agreement": sheet.agreement}
    )


@requires(Permission.EDIT_AGREEMENTS)
@require_POST
def offer(request: HttpRequest, pk: int) -> HttpResponse:
    """Make the paper and offer it."""
    person, now, today = person_of(request), timezone.now(), _today(request)
    demo = settings.DEMO
    offer_agreement(agreement_id=pk, by=person, now=now, today=today, demo=demo)
    return redirect("agreement", pk)


@requires(Permission.SEE_CUSTOMERS)
@require_GET
def paper(request: HttpRequest, pk: int, version: int) -> HttpResponseBase:
    """A paper as it was offered."""
    kept = paper_for(person_of(request), pk, version)
    name = f'inline; filename="agreement-{pk}-{version}.pdf"'
    headers = {"Content-Disposition": name}
    content = bytes(kept.content)
    return kept_private(HttpResponse(content, content_type="application/pdf", headers=headers))


@requires(Permission.SEE_CUSTOMERS)
@require_GET
def scan(request: HttpRequest, pk: int) -> HttpResponseBase:
    """The scan of the signed paper, as an attachment."""
    raw = scan_of(person_of(request), pk)
    headers = {
        "Content-Disposition": f'attachment; filename="agreement-{pk}-signed"',
        "X-Content-Type-Options": "nosniff",
    }
    return kept_private(HttpResponse(raw, content_type=scan_type(raw), headers=headers))


@requires(Permission.EDIT_AGREEMENTS)
@require_http_methods(["GET", "POST"])
def accept(request: HttpRequest, pk: int) -> HttpResponse:
    """Record that the customer accepted."""
    person, now = person_of(request), timezone.now()
    sheet = agreement_page(person, pk, _today(request))
    digest = sheet.newest.sha256 if sheet.newest else ""
    files = request.FILES if request.method == "POST" else None
    form = AcceptForm(posted(request), files, initial={"sha256": digest})

    def keep(entered: dict[str, Any]) -> None:
        accept_agreement(agreement_id=pk, given=Acceptance(**entered), by=person, now=now)

    if form.is_bound and saved(form, keep):
        return redirect("agreement", pk)
    shown = {"sheet": sheet, "agreement": sheet.agreement, "form": form}
    status = 422 if form.is_bound else 200
    return render(request, "scheduling/agreement_accept.html", shown, status=status)


def _because(
    request: HttpRequest, pk: int, heading: str, act: str, save: Callable[..., None]
) -> HttpResponse:
    person, now = person_of(request), timezone.now()
    one = agreement_for(person, pk)
    page = FormPage(heading, act, one.get_absolute_url(), "It is done.", str(one))
    form = ReasonForm(posted(request))
    return one_form(
        request, form, page, lambda entered: save(agreement_id=pk, by=person, now=now, **entered)
    )


@requires(Permission.EDIT_AGREEMENTS)
@require_http_methods(["GET", "POST"])
def pause(request: HttpRequest, pk: int) -> HttpResponse:
    """Let an agreement rest."""
    return _because(request, pk, "Pause the agreement", "Pause it", pause_agreement)


@requires(Permission.EDIT_AGREEMENTS)
@require_http_methods(["GET", "POST"])
def take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Make an offer a draft again."""
    return _because(request, pk, "Take the offer back", "Take it back", take_back_offer)


@requires(Permission.EDIT_AGREEMENTS)
@require_POST
def resume(request: HttpRequest, pk: int) -> HttpResponse:
    """Let a paused agreement run again."""
    resume_agreement(agreement_id=pk, by=person_of(request), now=timezone.now())
    return redirect("agreement", pk)


@requires(Permission.EDIT_AGREEMENTS)
@require_http_methods(["GET", "POST"])
def end(request: HttpRequest, pk: int) -> HttpResponse:
    """Say the last day of an agreement."""
    person, today = person_of(request), _today(request)
    one = agreement_for(person, pk)
    day = min(one.ends_on, today + timedelta(days=one.notice_days))
    form = EndForm(posted(request), initial={"ends_on": max(day, today)})
    page = FormPage(
        "End the agreement", "End it", one.get_absolute_url(), "Its end is noted.", str(one), True
    )
    return one_form(
        request,
        form,
        page,
        lambda entered: end_agreement(
            agreement_id=pk, by=person, now=timezone.now(), today=today, **entered
        ),
    )
