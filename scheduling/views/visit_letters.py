"""Letters about visits at the office: on paper, handed over, offered; lists of what to prepare."""

from __future__ import annotations

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.rules.notices import Kind
from accounts.views.one_form import FormPage, one_form, posted
from scheduling.forms.preparing import LinesForm
from scheduling.reports.letter import draw_letter
from scheduling.rules.prep import TREATMENT_WORDS, Treatment
from scheduling.selectors.preparing import own_items, prep_lists
from scheduling.selectors.visit_letters import OF_VISITS, letter_of, told_of_visit
from scheduling.selectors.visits import visit_for
from scheduling.services.customer_answers import mark_prepared
from scheduling.services.prep_lists import save_items, save_list
from scheduling.services.visit_notices import LEFT, hand_over, offer_visit
from scheduling.views.desk_answers import pdf_answer
from sites.selectors.properties import property_for


def _kind(typed: str) -> Kind:
    if typed not in OF_VISITS:
        raise Http404("No such letter.")
    return Kind(typed)


@requires(Permission.GIVE_COPIES)
@require_GET
def paper(request: HttpRequest, pk: int, kind: str) -> HttpResponse:
    """The letter of a visit on paper, with what to prepare."""
    told = told_of_visit(visit_for(person_of(request), pk))
    letter = letter_of(told, _kind(kind), LEFT, timezone.now(), demo=settings.DEMO)
    return pdf_answer(draw_letter(letter), f"{kind}-{pk}.pdf")


@requires(Permission.GIVE_COPIES)
@require_POST
def handed(request: HttpRequest, pk: int, kind: str) -> HttpResponse:
    """The paper was handed over."""
    person = person_of(request)
    hand_over(visit_id=pk, kind=_kind(kind), by=person, now=timezone.now())
    messages.success(request, "Noted: handed over on paper.")
    return redirect("visit", pk=pk)


@requires(Permission.INSPECT)
@require_POST
def prepared(request: HttpRequest, pk: int) -> HttpResponse:
    """Which items were found done."""
    person = person_of(request)
    done = request.POST.getlist("done")
    many = mark_prepared(visit_id=pk, done=done, by=person, now=timezone.now())
    messages.success(request, f"Noted: {many} done.")
    return redirect("visit" if "office" in request.POST else "stop", pk=pk)


@requires(Permission.BOOK_VISITS)
@require_POST
def offer(request: HttpRequest, pk: int) -> HttpResponse:
    """Offer a renewal by e-mail."""
    many = offer_visit(renewal_id=pk, by=person_of(request), now=timezone.now())
    messages.success(request, f"Offered by e-mail to {many}.")
    return redirect("renewal", pk=pk)


@requires(Permission.SEE_NOTICES)
@require_GET
def lists(request: HttpRequest) -> HttpResponse:
    """What customers are asked to prepare, by treatment."""
    return render(request, "scheduling/prep_lists.html", {"rows": prep_lists()})


@requires(Permission.EDIT_NOTICE_TEMPLATES)
@require_http_methods(["GET", "POST"])
def one_list(request: HttpRequest, treatment: str) -> HttpResponse:
    """Write the firm's own items of a treatment."""
    person = person_of(request)
    row = next((one for one in prep_lists() if one.treatment == treatment), None)
    if row is None:
        raise Http404("No such treatment.")
    page = FormPage(
        f"How to prepare: {TREATMENT_WORDS[row.treatment].lower()}", "Store the items",
        reverse("prep_lists"), "The items are stored.",
        source="Nothing at all brings back the items that come with the program.",
    )  # fmt: skip
    form = LinesForm(posted(request), initial={"lines": "\n".join(row.items)})
    kept = Treatment(treatment)
    return one_form(
        request,
        form,
        page,
        lambda typed: save_list(treatment=kept, by=person, now=timezone.now(), **typed),
    )


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def of_property(request: HttpRequest, pk: int) -> HttpResponse:
    """Write the items of one property."""
    person = person_of(request)
    place = property_for(person, pk)
    page = FormPage(
        f"How to prepare at {place.street}", "Store the items", place.get_absolute_url(),
        "The items are stored.", source="Beside those of the treatment and of what is watched.",
    )  # fmt: skip
    form = LinesForm(posted(request), initial={"lines": own_items(pk)})
    return one_form(
        request,
        form,
        page,
        lambda typed: save_items(property_id=pk, by=person, now=timezone.now(), **typed),
    )
