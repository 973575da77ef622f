"""Notices as the office sees them: the list, one notice, its paper, and the firm's texts."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts.forms.notices import CameBackForm, NoticeFilter, TemplateForm
from accounts.guards import kept_private, person_of, requires
from accounts.permissions import Permission
from accounts.rules.notice_text import Text, checked
from accounts.rules.notices import Evidence
from accounts.selectors.notices import (
    TemplateRow,
    notice_for,
    notice_row,
    notices_page,
    preview,
    template_rows,
)
from accounts.services.notices import note_evidence, save_template, send_again
from accounts.services.sending import goes_nowhere
from accounts.views.one_form import FormPage, one_form, posted, saved


@require_GET
@requires(Permission.SEE_NOTICES)
def index(request: HttpRequest) -> HttpResponse:
    """List notices, the newest first, with what is known of each."""
    form = NoticeFilter(request.GET)
    wanted = dict.fromkeys(form.fields, "")
    wanted |= form.cleaned_data if form.is_valid() else {}
    rows, page = notices_page(person_of(request), number=request.GET.get("page"), **wanted)
    shown = {"rows": rows, "page": page, "form": form, "goes_nowhere": goes_nowhere()}
    return render(request, "accounts/notices.html", shown)


@require_GET
@requires(Permission.SEE_NOTICES)
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """One notice with its words and all that is known of it."""
    return render(request, "accounts/notice.html", {"row": notice_row(person_of(request), pk)})


@require_GET
@requires(Permission.SEE_NOTICES)
def paper(request: HttpRequest, pk: int) -> HttpResponseBase:
    """The paper that went with a notice, as it was sent."""
    notice = notice_for(person_of(request), pk)
    if notice.attachment is None:
        raise Http404("No paper is kept with this notice.")
    name = {"Content-Disposition": f'inline; filename="notice-{pk}.pdf"'}
    content = bytes(notice.attachment)
    return kept_private(HttpResponse(content, content_type="application/pdf", headers=name))


@require_POST
@requires(Permission.SEE_NOTICES)
def again(request: HttpRequest, pk: int) -> HttpResponse:
    """Have a notice sent once more."""
    send_again(notice_id=pk, by=person_of(request), now=timezone.now())
    messages.success(request, "It waits to be sent again; it goes out with the next round.")
    return redirect("notice", pk)


@require_http_methods(["GET", "POST"])
@requires(Permission.SEE_NOTICES)
def came_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Note that an e-mail came back to the office."""
    person = person_of(request)
    row = notice_row(person, pk)
    words = FormPage(
        "It came back",
        "Note it",
        reverse("notice", args=[pk]),
        said="Noted.",
        source=f"{row.kind} to {row.to}: the message came back, so it counts as not given.",
    )
    form = CameBackForm(posted(request))

    def save(typed: dict[str, str]) -> None:
        kind = Evidence.BOUNCED
        now = timezone.now()
        note_evidence(notice_id=pk, kind=kind, by=person, now=now, said=typed["said"])

    return one_form(request, form, words, save)


@require_GET
@requires(Permission.SEE_NOTICES)
def templates(request: HttpRequest) -> HttpResponse:
    """The text of every kind of notice, filled in with invented values."""
    rows = [(row, preview(row.text)) for row in template_rows()]
    return render(request, "accounts/notice_templates.html", {"rows": rows})


@require_http_methods(["GET", "POST"])
@requires(Permission.EDIT_NOTICE_TEMPLATES)
def template(request: HttpRequest, kind: str) -> HttpResponse:
    """Edit the text of one kind; the preview is shown before anything is stored."""
    row = _row(kind)
    form = TemplateForm(posted(request), initial=vars(row.text))
    is_preview = "preview" in request.POST

    def save(typed: dict[str, str]) -> None:
        if is_preview:
            checked(row.kind, **typed)
            return
        save_template(kind=row.kind, **typed, by=person_of(request), now=timezone.now())

    is_saved = form.is_bound and saved(form, save)
    if is_saved and not is_preview:
        messages.success(request, "The text is stored. What waits already keeps its words.")
        return redirect("notice_templates")
    text = checked(row.kind, **form.cleaned_data) if is_saved else row.text
    shown = {"row": row, "form": form, "filled": preview(Text(text.subject, text.body))}
    status = 422 if form.is_bound and not is_saved else 200
    return render(request, "accounts/notice_template.html", shown, status=status)


def _row(kind: str) -> TemplateRow:
    found = [row for row in template_rows() if row.kind == kind]
    if not found:
        raise Http404("No kind of notice by this name.")
    return found[0]
