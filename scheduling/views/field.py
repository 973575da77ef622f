"""The technician's pages: today, the stop, the mix, the record."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import date
from typing import Any

from django.conf import settings
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.refusals import Refused
from accounts.views.one_form import posted, saved
from scheduling.forms.copies import CopyForm
from scheduling.forms.entered import product_of, sprayed_of, weather_of
from scheduling.forms.field import (
    ChoiceOfUse,
    LocalNow,
    MetricRecordForm,
    NotDoneForm,
    RecordForm,
    safety_answers,
    whole_numbers,
)
from scheduling.forms.loads import MixLoadForm
from scheduling.forms.part_fields import planned_parts
from scheduling.selectors.asked import asked_of
from scheduling.selectors.board import (
    fitting,
    load_choices,
    load_rows,
    product_words,
)
from scheduling.selectors.copies import copy_panel_at
from scheduling.selectors.mix_choices import ASK, ONE_TANK, Choice, also_ask
from scheduling.selectors.mix_pages import MixPage
from scheduling.selectors.mixes import mix_page, mix_tag
from scheduling.selectors.runs import run_rows, zones_treated
from scheduling.selectors.stops import stop_page
from scheduling.selectors.today import today_page, zone_of
from scheduling.services import field
from scheduling.services.deciding import ask_from_stop, sign_at_stop
from scheduling.views.mix_load_form import mix_load_form
from treatments.forms.decisions import DecisionForm
from treatments.reports.container_tag import draw_container_tag
from treatments.rules.applications import ASKED_LATER, Application, Entered
from treatments.selectors.completion import own_waiting
from treatments.selectors.loads import has_two_products


@require_GET
@requires(Permission.WORK_STOPS)
def today(request: HttpRequest) -> HttpResponse:
    """The stops of the day in order."""
    person = person_of(request)
    page = today_page(person, _today(request))
    context = {
        "page": page,
        "loads": load_rows(person, timezone.now()),
        "waiting": own_waiting(person),
    }
    return render(request, "scheduling/field/today.html", context)


@require_GET
@requires(Permission.WORK_STOPS)
def stop(request: HttpRequest, pk: int) -> HttpResponse:
    """One stop: access, what to watch, what is due and why."""
    return _stop(request, pk, NotDoneForm())


def _stop(request: HttpRequest, pk: int, form: NotDoneForm, status: int = 200) -> HttpResponse:
    person = person_of(request)
    page = stop_page(person, pk, _today(request))
    panel = copy_panel_at(person, page.visit, page.recorded, timezone.now())
    context = {
        "page": page,
        "not_done": form,
        "loads": load_rows(person, timezone.now()),
        "panel": panel,
        "form": CopyForm(to=panel.to) if panel else None,
    }
    return render(request, "scheduling/field/stop.html", context, status=status)


@require_POST
@requires(Permission.WORK_STOPS)
def start(request: HttpRequest, pk: int) -> HttpResponse:
    """Start a stop."""
    field.start_stop(visit_id=pk, by=person_of(request), now=timezone.now())
    return redirect("stop", pk)


@require_POST
@requires(Permission.WORK_STOPS)
def not_done(request: HttpRequest, pk: int) -> HttpResponse:
    """End a stop without its work, with the reason."""
    form = NotDoneForm(request.POST)
    if not form.is_valid():
        return _stop(request, pk, form, status=422)
    field.end_not_done(visit_id=pk, by=person_of(request), now=timezone.now(), **form.cleaned_data)
    return redirect("today")


@require_GET
@requires(Permission.WORK_STOPS)
def mix(request: HttpRequest, pk: int) -> HttpResponse:
    """Zones, direction, the label's answer, the mix."""
    page = mix_page_of(request, pk)
    return shown_mix(request, page, mix_load_form(request, page))


def shown_mix(
    request: HttpRequest, page: MixPage, to_mix: MixLoadForm | None, status: int = 200
) -> HttpResponse:
    """Show the mix with the loads on board."""
    loads = load_rows(person_of(request), timezone.now())
    context = {
        "page": page,
        "form": _choice_form(page),
        "to_mix": to_mix,
        "loads": loads,
        "fitting": fitting(loads, page),
    }
    return render(request, "scheduling/field/mix.html", context, status=status)


@require_http_methods(["GET", "POST"])
@requires(Permission.WORK_STOPS)
def decide(request: HttpRequest, pk: int) -> HttpResponse:
    """Sign for a use that the label does not name, or ask for somebody who may."""
    page = mix_page_of(request, pk)
    back = f"{reverse('mix', args=[pk])}?{page.query}"
    if page.deciding is None:
        return redirect(back)
    form = DecisionForm(posted(request)) if page.deciding.can_sign else Form(posted(request))
    if form.is_bound and saved(form, lambda entered: _decide(request, page, entered)):
        return redirect(back)
    status = 422 if form.is_bound else 200
    context = {"page": page, "form": form, "back": back}
    return render(request, "scheduling/field/decide.html", context, status=status)


def _decide(request: HttpRequest, page: MixPage, entered: dict[str, Any]) -> None:
    choice, by = page.choice, person_of(request)
    about: dict[str, Any] = {
        "label_use_id": choice.use_id,
        "method": choice.method,
        "pest_ids": choice.pest_ids,
    }
    if "answer" not in entered:
        ask_from_stop(visit_id=page.visit_pk, by=by, **about)
        return
    sign_at_stop(
        visit_id=page.visit_pk,
        is_allowed=entered["answer"] == "yes",
        reason=entered["reason"],
        by=by,
        now=timezone.now(),
        **about,
    )


@require_GET
@requires(Permission.WORK_STOPS)
def tag(request: HttpRequest, pk: int) -> HttpResponse:
    """The tag of the container the mix goes into, as a PDF."""
    person = person_of(request)
    words = mix_tag(person, pk, _choice(request), _today(request), demo=settings.DEMO)
    name = {"Content-Disposition": f'inline; filename="container-tag-{pk}.pdf"'}
    return HttpResponse(draw_container_tag(words), content_type="application/pdf", headers=name)


@require_http_methods(["GET", "POST"])
@requires(Permission.RECORD_APPLICATIONS)
def record(request: HttpRequest, pk: int) -> HttpResponse:
    """Record what was applied; what is refused comes back with everything typed."""
    page = mix_page_of(request, pk)
    if page.direction is None or not page.choice.zone_ids:
        return redirect(f"{request.path.removesuffix('record/')}mix/?{page.query}")
    if request.method == "GET":
        return _record(request, page, _record_form(request, page, initial=_initial(request, page)))
    if "work_out" in request.POST:
        return _worked_out(request, page)
    form = _record_form(request, page, request.POST)
    if not form.is_valid():
        return _record(request, page, form, status=422)
    try:
        ended = _store(request, page, form.cleaned_data)
    except Refused as refused:
        return _record(request, page, form, refused=refused, status=422)
    is_whole = _is_of_load_of_two(request, page, form.cleaned_data)
    if page.choice.also_id and page.beside and not ended and not is_whole:
        return redirect(f"{request.path}?{page.choice.of_the_other.query}")
    if form.cleaned_data["ending"] == "rest":
        return redirect(f"{reverse('mix', args=[pk])}?{page.query}")
    return redirect("stop" if ended else "mix", pk)


def _record_form(request: HttpRequest, page: MixPage, *args: Any, **kwargs: Any) -> RecordForm:
    person, clock = person_of(request), _clock(request)
    shape = MetricRecordForm if person.branch.units == "metric" else RecordForm
    asked = asked_of(page, person, _today(request))
    loads = load_choices(person, clock[0])
    runs = run_rows(page.choice.zone_ids)
    more: dict[str, Any] = {"loads": loads, "runs": runs, "supervisors": page.over, "asked": asked}
    return shape(*args, clock=clock, parts=page.divisible, **more, **kwargs)


def _worked_out(request: HttpRequest, page: MixPage) -> HttpResponse:
    """Say how much product the volume put out of a load is; nothing is stored yet."""
    typed = request.POST
    form = _record_form(request, page, initial=typed.dict())
    volume = Entered(typed.get("finished_amount", ""), typed.get("finished_unit", ""))
    try:
        worked_out = product_words(person_of(request), typed.get("load", ""), volume)
    except Refused as refused:
        return _record(request, page, form, refused=refused, status=422)
    return _record(request, page, form, worked_out=worked_out)


def _record(
    request: HttpRequest,
    page: MixPage,
    form: RecordForm,
    refused: Refused | None = None,
    status: int = 200,
    worked_out: str = "",
) -> HttpResponse:
    context = {"page": page, "form": form, "refused": refused, "worked_out": worked_out}
    return render(request, "scheduling/field/record.html", context, status=status)


def _today(request: HttpRequest) -> date:
    return timezone.now().astimezone(zone_of(person_of(request))).date()


def mix_page_of(request: HttpRequest, pk: int) -> MixPage:
    """The mix of a stop with what the address says was chosen."""
    return mix_page(person_of(request), pk, _choice(request), _today(request))


def _choice(request: HttpRequest) -> Choice:
    asked = request.GET
    use, equipment, also, over = (
        next(iter(whole_numbers(asked.getlist(name)[:1])), None)
        for name in ("use", "equipment", "also", "supervisor")
    )
    system = person_of(request).branch.units
    return Choice(
        zone_ids=whole_numbers(asked.getlist("zone")),
        use_id=use,
        method=asked.get("method", ""),
        pest_ids=whole_numbers(asked.getlist("pest")),
        tank=asked.get("tank", ONE_TANK[system]),
        system=system,
        rate=asked.get("rate", ""),
        reason=asked.get("reason", ""),
        measure=asked.get("measure", ""),
        equipment_id=equipment,
        also_id=also,
        supervisor_id=over,
        of=next(iter(whole_numbers(asked.getlist("of"))), None),
        answers=safety_answers(request.POST if request.method == "POST" else asked, ASK),
        also_answers=_also_answers(request, also),
        parts=planned_parts(asked),
    )


def _also_answers(request: HttpRequest, also: int | None) -> tuple[tuple[str, str], ...]:
    """What the other product's label asks: on the mix in the address, on the record in the form."""
    if also is None:
        return ()
    typed = (safety_answers(said, also_ask(also)) for said in (request.GET, request.POST))
    return tuple({code: answer for said in typed for code, answer in said}.items())


def _choice_form(page: MixPage) -> ChoiceOfUse:
    choice = page.choice
    named = [(use.pk, f"{use.label_version.product.name}: {use.title}") for use in page.uses]
    return ChoiceOfUse(
        initial={
            **vars(choice),
            "use": choice.use_id,
            "equipment": choice.equipment_id,
            "also": choice.also_id,
            "supervisor": choice.supervisor_id,
        },
        spray_unit=choice.spray_unit,
        offered={
            "use": [("", "Choose"), *named],
            "method": page.methods,
            "rate": page.rates,
            "measure": page.measures,
            "equipment": [("", "Not chosen"), *page.sprayers],
            "also": [("", "Nothing else"), *page.beside],
            "supervisor": [("", "Who my license names"), *page.supervisors],
        },
    )


def _initial(request: HttpRequest, page: MixPage) -> dict[str, object]:
    """Times and unit are proposed; the amount used is never filled in beforehand."""
    person = person_of(request)
    now = timezone.now().astimezone(zone_of(person))
    started = page.found.visit.started_at or now
    load = request.GET.get("load", "")
    return {
        "started": started.astimezone(zone_of(person)).time(),
        "finished": now.time(),
        "product_unit": page.read_in,
        "equipment": page.sprayer.name if page.sprayer else "",
        "ending": "another" if page.also_uses and not has_two_products(person, load) else "finish",
        "load": load,
        **({"supervisor": page.choice.supervisor_id} if page.choice.supervisor_id else {}),
        "finished_unit": page.choice.spray_unit,
    }


def _store(request: HttpRequest, page: MixPage, entered: dict[str, Any]) -> bool:
    """Store the record, and the end of the stop when it was the last one."""
    ended: bool = entered["ending"] == "finish"
    if _is_of_load_of_two(request, page, entered):
        _store_tank(request, page, entered, ended)
        return ended
    field.record_at_stop(
        visit_id=page.visit_pk,
        application=_application(request, page, entered),
        finish=ended,
        by=person_of(request),
        now=timezone.now(),
    )
    return ended


def _is_of_load_of_two(request: HttpRequest, page: MixPage, entered: dict[str, Any]) -> bool:
    """Whether both products of the tank are recorded at once."""
    ref = entered.get("load", "")
    return bool(page.also_uses) and has_two_products(person_of(request), ref)


def _store_tank(request: HttpRequest, page: MixPage, entered: dict[str, Any], ended: bool) -> None:
    first = _application(request, page, entered)
    of_other = replace(page, choice=page.choice.of_the_other, rate_words="")
    # the same form sent again names the same two records
    other_ref = {"client_ref": uuid.uuid5(first.client_ref, "also")}
    second = _application(request, of_other, entered | other_ref)
    field.record_tank_at_stop(
        visit_id=page.visit_pk,
        applications=(first, second),
        finish=ended,
        by=person_of(request),
        now=timezone.now(),
    )


def _application(request: HttpRequest, page: MixPage, entered: dict[str, Any]) -> Application:
    person, choice = person_of(request), page.choice
    return Application(
        client_ref=entered["client_ref"],
        property_id=page.property_id,
        applicator_id=person.pk,
        zones=zones_treated(choice.zone_ids, entered["left_out"], entered["parts"]),
        method=choice.method,
        label_use_id=choice.use_id,
        pest_ids=choice.pest_ids,
        product_amount=product_of(entered),
        load_ref=entered.get("load", ""),
        finished_amount=sprayed_of(entered),
        started_at=entered["started_at"],
        finished_at=entered["finished_at"],
        visit_ref=page.visit_ref,
        equipment=entered["equipment"],
        weather=weather_of(entered),
        notes="\n".join(text for text in (entered["notes"], page.rate_words) if text),
        protective_equipment_confirmed=entered["protective_equipment"],
        answers=choice.answers,
        supervisor_id=entered.get("supervisor"),
        more_follows=entered["ending"] == "rest",
        **{name: entered.get(name, "") for name in ASKED_LATER},
    )


def _clock(request: HttpRequest) -> LocalNow:
    return timezone.now(), zone_of(person_of(request))
