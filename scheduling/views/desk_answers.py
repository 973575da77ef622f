"""What the desks of a manager and of an inspector share: page, paper and bundle of a question."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from tempfile import TemporaryFile
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils import timezone

from accounts.refusals import Refused
from accounts.selectors.pages import page_of
from scheduling.forms.desk import DeskForm
from scheduling.selectors.desk import notices_of, question_of, visit_at
from scheduling.selectors.notices import notice_of
from treatments.reports.notice import draw_notice
from treatments.selectors.desk import Made, Question, answer, gather
from treatments.services.hand_over import (
    To,
    hand_over_bundle,
    hand_over_label,
    hand_over_notice,
    hand_over_paper,
)

ASK = "Ask something first: a day, a person, a property, a product, a lot or an address."


@dataclass(frozen=True)
class Desk:
    """Who asks, where the buttons lead, and the branches one may choose."""

    to: To
    urls: Mapping[str, str]
    made: Made
    branches: tuple[tuple[int, str], ...] = ()

    @property
    def is_guest(self) -> bool:
        return self.to.visit is not None


def _form(request: HttpRequest, desk: Desk) -> DeskForm:
    return DeskForm(request.GET, products=desk.made.products, people=desk.made.people)


def asked(desk: Desk, form: DeskForm) -> Question | None:
    """The question; None when nothing was asked or a field of the form says what is wrong."""
    if not form.is_asked or not form.is_valid():
        return None
    people = dict(form.fields["person"].choices)  # type: ignore[attr-defined]
    today = timezone.localdate(timezone=ZoneInfo(desk.to.branch.time_zone))
    try:
        return question_of(desk.to.branch, form.cleaned_data, people, today, desk.made.first_day)
    except Refused as refused:
        field = str(refused.facts.get("field", ""))
        form.add_error(field if field in form.fields else None, refused.sentence)
        return None


def desk_page(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The page: the form, and below it the answer when there is one."""
    form = _form(request, desk)
    shown: dict[str, Any] = {"form": form, "desk": desk, "query": request.GET.urlencode()}
    question = asked(desk, form)
    if question is not None:
        shown |= _answered(request, desk, form, question)
    status = 422 if form.is_asked and "answer" not in shown else 200
    return render(request, "scheduling/desk.html", shown, status=status)


def _answered(
    request: HttpRequest, desk: Desk, form: DeskForm, question: Question
) -> dict[str, Any]:
    try:
        found = gather(question)
    except Refused as refused:
        form.add_error(None, refused.sentence)
        return {}
    notices, lines = notices_of(found.histories)
    told = answer(
        question, found, desk.to.branch, timezone.now(), notices=notices, demo=settings.DEMO
    )
    page = page_of(told.records, request.GET.get("page"))
    return {"answer": told, "page": page, "notices": lines, "question": question}


def _question(request: HttpRequest, desk: Desk) -> Question:
    form = _form(request, desk)
    question = asked(desk, form)
    if question is None:
        said = [str(sentence) for errors in form.errors.values() for sentence in errors]
        raise Refused("desk", " ".join(said) or ASK)
    return question


def paper_file(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The answer as PDF; refused where the form has an error."""
    question = _question(request, desk)
    found = gather(question)
    notices, _ = notices_of(found.histories)
    paper = hand_over_paper(
        question=question,
        found=found,
        notices=notices,
        to=desk.to,
        now=timezone.now(),
        demo=settings.DEMO,
    )
    return pdf_answer(paper.content, "inspection-desk.pdf")


def label_file(desk: Desk, pk: int, kind: str) -> HttpResponse:
    """A label or safety data sheet that the branch used or bought."""
    kept, given = hand_over_label(label_id=pk, kind=kind, to=desk.to, now=timezone.now())
    return pdf_answer(given.content, f"label-{pk}-{kept.kind}.pdf")


def notice_file(desk: Desk, pk: int) -> HttpResponse:
    """The notice of a visit with records of the branch; otherwise Http404."""
    treated = visit_at(desk.to.branch, pk)
    if treated is None:
        raise Http404
    content = draw_notice(notice_of(treated, demo=settings.DEMO))
    hand_over_notice(
        content=content,
        visit_ref=str(treated.ref),
        words=f"Notice of {treated}",
        to=desk.to,
        now=timezone.now(),
    )
    return pdf_answer(content, f"notice-{pk}.pdf")


def pdf_answer(content: bytes, name: str) -> HttpResponse:
    """A PDF to keep."""
    shown = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse(content, content_type="application/pdf", headers=shown)


def bundle_file(request: HttpRequest, desk: Desk) -> HttpResponseBase:
    """The bundle of the question as one zip; refused where the form has an error."""
    question = _question(request, desk)
    file = TemporaryFile()  # noqa: SIM115 -- the answer closes it when it was sent
    hand_over_bundle(question=question, to=desk.to, now=timezone.now(), out=file)
    name = f"inspection-{question.scope.since}-{question.scope.until}.zip"
    return FileResponse(file, as_attachment=True, filename=name, content_type="application/zip")
