"""The whole round on the invented firm, step by step, each read back from the database."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from io import BytesIO

from accounts.refusals import Refused
from accounts.rules.csv_out import csv_lines
from scheduling.models import Renewal, Visit, VisitApplication
from scheduling.rules.demo.people import PEOPLE
from scheduling.rules.demo.places import spreadsheet
from scheduling.rules.demo.register import TRAINED_BEFORE
from scheduling.rules.visit_states import RenewalState, VisitKind
from scheduling.selectors.notices import notice_of
from scheduling.selectors.use_log import HEADER, export_rows
from scheduling.services.booking import book_visit
from scheduling.services.cancel import cancel_visit, decline_renewal
from scheduling.services.demo.agreements import agree_with_some
from scheduling.services.demo.copies import give_some
from scheduling.services.demo.corrections import correct_some
from scheduling.services.demo.days import (
    ask_about_cracks,
    at,
    book_day,
    first_stop,
    morning,
    plan_today,
    sweep_today,
    treat,
    work_day,
)
from scheduling.services.demo.devices import walk_the_rounds
from scheduling.services.demo.firm import Firm, make_firm
from scheduling.services.demo.ground import note_the_ground
from scheduling.services.demo.identifications import identify_some
from scheduling.services.demo.incidents import spill_and_tell
from scheduling.services.demo.inspections import inspect_a_house
from scheduling.services.demo.letters import write_some
from scheduling.services.demo.loads import put_on_board
from scheduling.services.demo.logbook import keep_a_logbook
from scheduling.services.demo.plans import walk_a_house
from scheduling.services.demo.register import fill_the_register, train
from scheduling.services.demo.special import LEFT_OUT, mix_two, name_the_walls
from scheduling.services.demo.store import (
    check_the_trucks,
    count_a_truck,
    fill_the_stores,
)
from scheduling.services.field import end_not_done, start_stop
from scheduling.services.importing import import_accounts
from sites.rules.units import unit_word
from treatments.reports.notice import draw_notice
from treatments.rules.bundles import BundleScope
from treatments.selectors.log import verify_all
from treatments.selectors.records import UseLogFilter
from treatments.services.bundles import export_bundle

SHEET = "demo-accounts.csv"
PAST_DAYS = (-84, -80, -77, -70, -66, -63, -56, -49, -42, -35, -28, -21, -14, -7, -3)
BEGUN = timedelta(days=85)
STOPS_A_DAY, STOPS_TODAY = 3, 12
OVER_THE_LABEL = Decimal("1.3")


@dataclass(frozen=True)
class Step:
    """One step of the round: its name, what came of it, the files it made."""

    name: str
    lines: tuple[str, ...]
    files: dict[str, bytes] = field(default_factory=dict)


def run(*, seed: int, today: date) -> Iterator[Step]:
    """Make the firm as it began twelve weeks ago and go through the round until `today`.

    Everything follows from `seed` and `today`.
    """
    begun = datetime.combine(today - BEGUN, time(9), UTC)
    firm = make_firm(today=today, now=begun)
    train(TRAINED_BEFORE, firm=firm, today=today, now=begun)
    yield Step("Firm", (f"{len(firm.branches)} branches, {len(firm.people)} people, 9 products.",))
    yield Step("Stock", fill_the_stores(firm=firm, today=today, now=begun))
    yield from _read_spreadsheet(seed, begun)
    yield _past(firm, today)
    now = morning(today, firm)
    said = (*count_a_truck(firm=firm, now=now), *check_the_trucks(firm=firm, now=now))
    yield Step("Count and check", said)
    yield Step("Register", fill_the_register(firm=firm, today=today, now=morning(today, firm)))
    yield _sweep(firm, today)
    yield _book(firm, today)
    yield _plan(firm, today)
    stop = first_stop(day=today, technician=firm.people["technician@demo.example"])
    yield Step("Walls", walk_a_house(firm=firm, stop=stop))
    yield Step("Inspect", inspect_a_house(firm=firm, stop=stop, today=today))
    yield _treat(firm, stop, morning(today, firm))
    yield _ask(firm, today)
    yield Step("Identify", identify_some(firm=firm, today=today))
    yield Step("Devices", walk_the_rounds(firm=firm, today=today))
    yield Step("Incident", spill_and_tell(firm=firm, today=today))
    yield Step("Site logbook", keep_a_logbook(firm=firm, today=today, now=morning(today, firm)))
    yield Step("Agreements", agree_with_some(firm=firm, today=today, now=morning(today, firm)))
    yield _notice(stop)
    yield Step("Copies", give_some(firm=firm, now=morning(today, firm)))
    yield Step("Letters", write_some(firm=firm, now=morning(today, firm)))
    yield Step("Correct records", correct_some(firm=firm, now=morning(today, firm)))
    yield _use_log()
    yield _verify()
    yield _hand_over(today, morning(today, firm))


def _read_spreadsheet(seed: int, begun: datetime) -> Iterator[Step]:
    day = begun.date()
    raw = spreadsheet(seed=seed, today=day)
    for name, dry_run in (("Import, dry run", True), ("Import", False)):
        report = import_accounts(
            raw=raw, file_name=SHEET, by=None, today=day, now=begun, dry_run=dry_run
        )
        yield Step(name, tuple(report.words()[:6]), {SHEET: raw})


def _past(firm: Firm, today: date) -> Step:
    """Fifteen working days since then, with one use over the label among them."""
    visits: list[Visit] = []
    for back in PAST_DAYS:
        day = today + timedelta(days=back)
        # the sweep of the last fortnight is left to the step that shows it
        visits += work_day(firm=firm, day=day, most=STOPS_A_DAY, is_swept=back < -14)
    visits += _special_days(firm, today)
    records = VisitApplication.objects.count()
    return Step("Past weeks", (f"{len(visits)} visits, {records} records in the log.",))


def _special_days(firm: Firm, today: date) -> list[Visit]:
    """Yesterday: a use over the label's rate, nobody home, a visit canceled, a service declined."""
    eve, day = at(today - timedelta(days=2), time(16), firm), today - timedelta(days=1)
    acts = (_over, _nobody_home, _canceled, _forgotten)
    visits = list(book_day(firm=firm, day=day, most=len(acts), now=eve).visits)
    for act, visit in zip(acts, visits, strict=False):
        act(firm, visit)
    _declined(firm, eve)
    return visits


def _over(firm: Firm, visit: Visit) -> None:
    treat(firm=firm, visit=visit, over=OVER_THE_LABEL)


def _forgotten(firm: Firm, visit: Visit) -> None:
    """A planted gap: no amount was written down, and the audit finds it."""
    treat(firm=firm, visit=visit, gap=True)


def _nobody_home(firm: Firm, visit: Visit) -> None:
    technician = next(one for one in firm.technicians if one.pk == visit.technician_id)
    begun = visit.starts_at or visit.window_opens_at
    start_stop(visit_id=visit.pk, by=technician, now=begun)
    later = begun + timedelta(minutes=10)
    end_not_done(visit_id=visit.pk, reason="nobody home", note="", by=technician, now=later)


def _canceled(firm: Firm, visit: Visit) -> None:
    cancel_visit(
        visit_id=visit.pk, reason="The customer is away.", by=None, now=visit.window_opens_at
    )


def _declined(firm: Firm, now: datetime) -> None:
    renewal = Renewal.objects.waiting().order_by("-lapses_on", "pk").first()
    if renewal is not None:
        decline_renewal(renewal_id=renewal.pk, reason="Selling the house.", by=None, now=now)


def _sweep(firm: Firm, today: date) -> Step:
    report = sweep_today(day=today, now=morning(today, firm))
    again = sweep_today(day=today, now=morning(today, firm))
    first = Renewal.objects.waiting().order_by("lapses_on").first()
    waiting = f"{Renewal.objects.waiting().count()} renewals wait for a booking"
    reason = f"{waiting}; the first: {first.reason}." if first else f"{waiting}."
    return Step("Sweep", (report.sentence, f"Again: {again.sentence}", reason))


def _book(firm: Firm, today: date) -> Step:
    now = morning(today, firm)
    booked = book_day(firm=firm, day=today, most=STOPS_TODAY, now=now)
    note_the_ground(visits=booked.visits, by=firm.manager, today=today)
    later = book_day(firm=firm, day=today + timedelta(days=1), most=STOPS_TODAY // 2, now=now)
    waiting = Renewal.objects.filter(state=RenewalState.DUE).count()
    return Step(
        "Book",
        (
            f"{len(booked.visits)} visits today, {len(later.visits)} tomorrow; "
            f"{waiting} renewals wait.",
            *(f"Refused: {sentence}" for sentence in booked.refusals[:2]),
            f"Refused: {_license_runs_out(firm, today, now)}",
        ),
    )


def _license_runs_out(firm: Firm, today: date, now: datetime) -> str:
    """Try to book the technician whose license is about to expire, and read the refusal."""
    lapsing = next(one for one in PEOPLE if one.expires_in < 30)
    person = firm.people[lapsing.email]
    place = Renewal.objects.filter(property__branch=person.branch_id).values("property_id")[0]
    try:
        book_visit(
            property_id=place["property_id"],
            kind=VisitKind.INSPECTION,
            technician_id=person.pk,
            day=today + timedelta(days=lapsing.expires_in + 1),
            window_opens=time(9),
            window_closes=time(12),
            minutes=40,
            by=None,
            now=now,
        )
    except Refused as refused:
        return refused.sentence
    raise AssertionError("A booking after the license's last day was not refused.")


def _plan(firm: Firm, today: date) -> Step:
    report = plan_today(firm=firm, day=today, now=morning(today, firm))
    return Step("Plan routes", tuple(report.lines()))


def _treat(firm: Firm, stop: Visit, now: datetime) -> Step:
    load = put_on_board(stop=stop, now=now)
    walls = name_the_walls(visit=stop, by=firm.manager)
    treat(firm=firm, visit=stop, without=LEFT_OUT)
    other = firm.people["technician3@demo.example"]
    two = mix_two(stop=first_stop(day=stop.day, technician=other), now=now)
    made = VisitApplication.objects.filter(visit=stop).select_related("record")
    lines = (
        f"{row.record.product_name}: "
        f"{row.record.product_amount} {unit_word(row.record.product_unit)}"
        for row in made
    )
    state = stop.renewal.get_state_display() if stop.renewal else "no renewal"
    return Step(
        "Record",
        (
            f"{stop}: {stop.get_state_display()}, renewal {state}.",
            *lines,
            f"On board: {load}; {two}.",
            walls,
        ),
    )


def _ask(firm: Firm, today: date) -> Step:
    technician = firm.people["technician@demo.example"]
    question = ask_about_cracks(visit=first_stop(day=today, technician=technician), by=technician)
    return Step("Ask the certified applicator", (question,))


def _notice(stop: Visit) -> Step:
    paper = draw_notice(notice_of(stop, demo=True))
    return Step("Notice", (f"{len(paper)} bytes of PDF.",), {"demo-notice.pdf": paper})


def _use_log() -> Step:
    text = "".join(csv_lines(HEADER, export_rows(UseLogFilter())))
    rows = text.count("\n") - 1
    return Step("Use log", (f"{rows} lines.",), {"demo-use-log.csv": text.encode()})


def _hand_over(today: date, now: datetime) -> Step:
    """What an inspector of the last month is given."""
    scope, out = BundleScope(today - timedelta(days=30), today), BytesIO()
    done = export_bundle(scope=scope, by=None, now=now, out=out, demo=True)
    lines = (f"{done.records} records, signed with the key {done.key[:16]}.",)
    return Step("Inspection bundle", lines, {"demo-inspection-bundle.zip": out.getvalue()})


def _verify() -> Step:
    found = verify_all()
    if not all(one.is_whole for one in found):
        raise Refused("log", "; ".join(one.difference for one in found if not one.is_whole))
    return Step(
        "Verify log",
        tuple(
            f"{one.branch_name}: {one.size} leaves, root {one.root[:16]}, whole" for one in found
        ),
    )
