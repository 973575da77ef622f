"""A technician's round of devices at a stop: one after the other, the end, the bait."""

from __future__ import annotations

import uuid
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.selectors.pages import local_day
from accounts.views.one_form import posted, saved
from scheduling.forms.devices import BaitForm, CheckForm, SkippedForm
from scheduling.forms.field import safety_answers, whole_numbers
from scheduling.selectors.bait_pages import BaitPage, bait_page
from scheduling.selectors.device_rounds import (
    RoundPage,
    RoundRow,
    bait_choices,
    last_bait,
    pest_choices,
    round_page,
)
from scheduling.selectors.mix_choices import ASK
from scheduling.selectors.today import zone_of
from scheduling.services.device_rounds import check_at_stop, record_bait
from sites.rules.devices.entries import AddedBait, NewCheck
from sites.rules.devices.words import BAITED, FED_ON, Outcome
from treatments.rules.applications import Application, TreatedZone
from treatments.rules.products import Method
from treatments.selectors.baits import BaitChoice

GONE = "This bait is recorded, or more was added since. What still waits stands below."


@requires(Permission.WORK_STOPS)
@require_GET
def walk(request: HttpRequest, pk: int) -> HttpResponse:
    """The next device of the round, or the one that was asked for."""
    after = next(iter(whole_numbers(request.GET.getlist("after")[:1])), None)
    page = round_page(
        person_of(request), pk, after=after, typed=request.GET.get("number", "").strip()
    )
    if page.device is None and not page.unknown:
        return redirect("stop_devices_end", pk)
    return render(
        request, "scheduling/field/devices.html", {"page": page, "client_ref": uuid.uuid4()}
    )


@requires(Permission.WORK_STOPS)
@require_http_methods(["GET", "POST"])
def check(request: HttpRequest, pk: int, device: int) -> HttpResponse:
    """What was found at one device; then on to the next."""
    page = round_page(person_of(request), pk)
    row = next((one for one in page.rows if one.device.pk == device), None)
    if row is None:
        raise Http404("No such device at this stop.")
    today = local_day(person_of(request).branch.time_zone, timezone.now())
    baits = bait_choices(person_of(request), today) if row.device.kind in BAITED else ()
    form = _check_form(request, row, baits)
    if form.is_bound and saved(form, lambda entered: _keep(request, page, row, baits, entered)):
        return redirect(f"{reverse('stop_devices', args=[pk])}?after={device}")
    status = 422 if form.is_bound else 200
    context = {"page": page, "row": row, "form": form}
    return render(request, "scheduling/field/device.html", context, status=status)


def _check_form(request: HttpRequest, row: RoundRow, baits: tuple[BaitChoice, ...]) -> CheckForm:
    return CheckForm(
        posted(request),
        pests=pest_choices(),
        baits=[(one.key, one.words) for one in baits],
        left_out=_left_out(row.device.kind),
        initial=last_bait(person_of(request), baits) if baits else {},
    )


def _left_out(kind: str) -> tuple[str, ...]:
    """The fields of bait that a kind of device does not show."""
    if kind in BAITED:
        return ()
    return CheckForm.of_adding if kind in FED_ON else CheckForm.of_bait


def _keep(
    request: HttpRequest,
    page: RoundPage,
    row: RoundRow,
    baits: tuple[BaitChoice, ...],
    entered: dict[str, Any],
) -> None:
    new = NewCheck(
        client_ref=entered["client_ref"],
        device_id=row.device.pk,
        outcome=entered["outcome"],
        counts=entered["counts"],
        eaten=entered.get("eaten"),
        spoiled=entered.get("spoiled") or 0,
        removed=entered.get("removed") or 0,
        added=_added(entered, baits),
        is_damaged=entered["is_damaged"],
        note=entered["note"],
    )
    check_at_stop(visit_id=page.visit_pk, checks=(new,), by=person_of(request), now=timezone.now())


def _added(entered: dict[str, Any], baits: tuple[BaitChoice, ...]) -> AddedBait | None:
    chosen = next((one for one in baits if one.key == entered.get("bait")), None)
    if chosen is None or not entered["pieces"]:
        return None
    return AddedBait(
        pieces=entered["pieces"],
        each=entered["each"],
        unit=entered["unit"],
        product_ref=chosen.ref,
        product=chosen.product,
        lot=chosen.lot,
    )


@requires(Permission.WORK_STOPS)
@require_http_methods(["GET", "POST"])
def end(request: HttpRequest, pk: int) -> HttpResponse:
    """The end of the round: what was left out and why, the bait that waits for its record."""
    page = round_page(person_of(request), pk)
    left = [(row.device.pk, f"Device {row.device.number}, {row.device.place}") for row in page.left]
    form = SkippedForm(posted(request), left=left)
    if form.is_bound and saved(form, lambda _: _skip(request, page, form)):
        return redirect("stop_devices_end", pk)
    status = 422 if form.is_bound else 200
    context = {"page": page, "form": form}
    return render(request, "scheduling/field/devices_end.html", context, status=status)


def _skip(request: HttpRequest, page: RoundPage, form: SkippedForm) -> None:
    checks = [
        NewCheck(client_ref=ref, device_id=pk, outcome=Outcome.SKIPPED, note=reason)
        for pk, ref, reason in form.reasons
    ]
    if checks:
        check_at_stop(
            visit_id=page.visit_pk, checks=checks, by=person_of(request), now=timezone.now()
        )


@requires(Permission.RECORD_APPLICATIONS)
@require_http_methods(["GET", "POST"])
def bait(request: HttpRequest, pk: int) -> HttpResponse:
    """Record the bait of one product that was added in the round."""
    said = request.POST if request.method == "POST" else request.GET
    answers = safety_answers(said, ASK)
    use = next(iter(whole_numbers(request.GET.getlist("use")[:1])), None)
    key = request.GET.get("of", "")
    page = bait_page(person_of(request), pk, key, use, answers, timezone.now())
    if page is None:
        messages.success(request, GONE)
        return redirect("stop_devices_end", pk)
    form = _bait_form(request, page)
    if form.is_bound and saved(form, lambda entered: _record(request, page, entered)):
        messages.success(request, "The bait is recorded.")
        return redirect("stop_devices_end", pk)
    status = 422 if form.is_bound else 200
    context = {"page": page, "form": form}
    return render(request, "scheduling/field/devices_bait.html", context, status=status)


def _bait_form(request: HttpRequest, page: BaitPage) -> BaitForm:
    now, zone = timezone.now(), zone_of(person_of(request))
    begun = (page.started_at or now).astimezone(zone)
    initial = {
        "lot": page.lot,
        "zones": [str(pk) for pk in page.zone_ids],
        "pests": [str(pk) for pk in page.pest_ids],
        "started": begun.time(),
        "finished": now.astimezone(zone).time(),
    }
    return BaitForm(
        posted(request),
        clock=(now, zone),
        lots=page.lots,
        zones=page.zones,
        pests=page.pests,
        initial=initial,
    )


def _record(request: HttpRequest, page: BaitPage, entered: dict[str, Any]) -> None:
    by = person_of(request)
    record_bait(
        visit_id=page.visit_pk,
        key=page.group.key,
        application=Application(
            client_ref=uuid.uuid4(),
            property_id=page.property_id,
            applicator_id=by.pk,
            zones=tuple(TreatedZone(int(pk)) for pk in entered["zones"]),
            method=Method.BAIT,
            label_use_id=page.use_id,
            pest_ids=tuple(int(pk) for pk in entered["pests"]),
            started_at=entered["started_at"],
            finished_at=entered["finished_at"],
            protective_equipment_confirmed=entered["protective_equipment"],
            notes=entered["notes"],
            answers=page.answers,
            lot_number=entered.get("lot") or "",
        ),
        by=by,
        now=timezone.now(),
    )
