"""The mix of a stop, in words and in the units of the label."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from accounts.refusals import Refused
from scheduling.models import Visit
from scheduling.selectors.instead import InsteadWords, instead_words
from scheduling.selectors.stops import ZoneRow, zone_rows
from scheduling.selectors.today import own_visit
from scheduling.selectors.unlisted import (
    Choices,
    Deciding,
    PestRow,
    deciding,
    methods_of,
    pest_rows,
)
from sites.rules.units import Amount, display, parse_amount
from sites.selectors.properties import zones_of
from treatments.reports.tag_words import ContainerTag
from treatments.rules.alternatives import SIGNED_FOR, waits_for_signature
from treatments.rules.label_checks import Judgement
from treatments.rules.mixing import MixPlan, TankLoad
from treatments.rules.products import Severity
from treatments.rules.protective_equipment import Worn
from treatments.selectors.alternatives import directions_aboard
from treatments.selectors.checks import Preview, preview
from treatments.selectors.container_tags import container_tag
from treatments.selectors.label_facts import rate_of
from treatments.selectors.labels import directions_in_force
from treatments.selectors.stock import vehicle_of
from treatments.selectors.wearing import wear
from treatments.selectors.windows import windows_of

if TYPE_CHECKING:
    from accounts.models import Person
    from treatments.models import LabelUse

LB_PLACES = 6
LARGEST_TANK_GAL = Decimal(2000)


@dataclass(frozen=True)
class Choice:
    """What the technician has chosen so far; `of` is the direction method and pests are for."""

    zone_ids: tuple[int, ...] = ()
    use_id: int | None = None
    method: str = ""
    pest_ids: tuple[int, ...] = ()
    tank: str = "1"
    of: int | None = None

    @property
    def query(self) -> str:
        """The same choice as an address."""
        pairs: list[tuple[str, object]] = [("zone", zone) for zone in self.zone_ids]
        pairs += [("use", self.use_id)] if self.use_id else []
        pairs += [("method", self.method)] if self.method else []
        pairs += [("pest", pest) for pest in self.pest_ids]
        pairs += [("tank", self.tank)] if self.tank else []
        return urlencode(pairs)


@dataclass(frozen=True)
class DirectionFacts:
    """One direction for use as the phone shows it."""

    pk: int
    title: str
    product: str
    registration_number: str
    label: str
    rate: str
    page: str
    signal_word: str
    protective_equipment: str
    reentry: str
    unit: str


@dataclass(frozen=True)
class LoadWords:
    """One tank load in the label's unit and in another."""

    number: int
    product: str
    product_also: str
    finished: str
    finished_also: str


@dataclass(frozen=True)
class MixWords:
    """The mix for people: every amount rounded down, never up at a limit."""

    size: str
    product: str
    product_also: str
    finished: str
    explained: str
    warnings: tuple[str, ...]
    loads: tuple[LoadWords, ...]
    fill_steps: tuple[str, ...]


@dataclass(frozen=True)
class MixPage:
    """Zones, direction, the label's answer and the mix of one stop."""

    visit_pk: int
    visit_ref: str
    property_id: int
    customer: str
    summary: str
    zones: tuple[ZoneRow, ...]
    uses: tuple[LabelUse, ...]
    direction: DirectionFacts | None
    methods: tuple[tuple[str, str], ...]
    pests: tuple[PestRow, ...]
    choice: Choice
    checks: tuple[Judgement, ...] = ()
    is_allowed: bool = False
    verdict: str = ""
    mix: MixWords | None = None
    refusal: str = ""
    instead: InsteadWords | None = None
    other_pests: Choices = ()
    deciding: Deciding | None = None
    wear: tuple[Worn, ...] = ()

    @property
    def can_record(self) -> bool:
        return bool(self.checks)

    @property
    def to_heed(self) -> tuple[Judgement, ...]:
        return tuple(check for check in self.checks if check.severity != Severity.NOTE)

    @property
    def to_decide(self) -> tuple[Judgement, ...]:
        return tuple(check for check in self.to_heed if check.code in SIGNED_FOR)

    @property
    def passed(self) -> tuple[Judgement, ...]:
        return tuple(check for check in self.checks if check.severity == Severity.NOTE)

    @property
    def query(self) -> str:
        return self.choice.query

    @property
    def zone_names(self) -> str:
        return ", ".join(zone.name for zone in self.zones if zone.is_chosen)

    @property
    def size(self) -> str:
        return ", ".join(zone.size for zone in self.zones if zone.is_chosen)

    @property
    def pest_names(self) -> str:
        return ", ".join(pest.name for pest in self.pests if pest.is_chosen)

    @property
    def method(self) -> str:
        return dict(self.methods).get(self.choice.method, "")

    @property
    def proposed(self) -> str:
        if self.mix is None:
            return "not counted by area"
        return ", ".join(part for part in (self.mix.product, self.mix.finished) if part)


def mix_page(person: Person, pk: int, choice: Choice, today: date) -> MixPage:
    """Gather the zones and directions of a stop and, once both are chosen, the label's answer."""
    visit = own_visit(person, pk)
    uses = _offered(person, choice, today)
    use = next((use for use in uses if use.pk == choice.use_id), None)
    full = _with_defaults(choice, use)
    page = _chosen(visit, uses, use, full, today)
    if use is None or not full.zone_ids:
        return page
    return _judged(page, person, today)


def _offered(person: Person, choice: Choice, today: date) -> tuple[LabelUse, ...]:
    """The directions in force, and the chosen one where a lot on the truck carries its label."""
    uses = directions_in_force(today)
    if choice.use_id and all(use.pk != choice.use_id for use in uses):
        aboard = directions_aboard(person, today, vehicle_of(person.pk))
        uses += [use for use in aboard if use.pk == choice.use_id]
    return tuple(uses)


def _with_defaults(choice: Choice, use: LabelUse | None) -> Choice:
    """The first method and every pest of the direction, until the technician says otherwise."""
    if use is None:
        return Choice(zone_ids=choice.zone_ids, tank=choice.tank)
    named = tuple(sorted(pest.pk for pest in use.pests.all()))
    methods, pests = dict(methods_of(use)), choice.pest_ids
    if choice.of not in (None, use.pk):
        methods, pests = use.methods, tuple(pest for pest in pests if pest in named)
    return Choice(
        zone_ids=choice.zone_ids,
        use_id=use.pk,
        method=choice.method if choice.method in methods else use.methods[0],
        pest_ids=pests or named,
        tank=choice.tank,
    )


def _chosen(
    visit: Visit, uses: tuple[LabelUse, ...], use: LabelUse | None, choice: Choice, today: date
) -> MixPage:
    zones = list(zones_of(visit.property_id))
    windows = windows_of([zone.pk for zone in zones])
    chosen = frozenset(choice.zone_ids)
    pests, others = pest_rows(use, choice.pest_ids) if use else ((), ())
    known = tuple(pest.pk for pest in pests if pest.is_chosen)
    return MixPage(
        visit_pk=visit.pk,
        visit_ref=str(visit.ref),
        property_id=visit.property_id,
        customer=visit.property.customer.name,
        summary="Choose zones, then a product and direction for use.",
        zones=zone_rows(zones, windows, today, chosen),
        uses=uses,
        direction=_facts(use) if use else None,
        methods=methods_of(use) if use else (),
        pests=pests,
        other_pests=others,
        choice=replace(choice, pest_ids=known),
    )


def _facts(use: LabelUse) -> DirectionFacts:
    label, product = use.label_version, use.label_version.product
    return DirectionFacts(
        pk=use.pk,
        title=use.title,
        product=product.name,
        registration_number=product.registration_number or "no number (exempt)",
        label=f"label of {label.label_date:%b %Y}",
        rate=f"at most {rate_of(use).words}",
        page=use.page,
        signal_word=product.get_signal_word_display(),
        protective_equipment=label.protective_equipment,
        reentry=label.reentry_text,
        unit=use.rate_unit,
    )


def _judged(page: MixPage, person: Person, today: date) -> MixPage:
    """Ask the label; what cannot be worked out is said on the page, and nothing typed is lost."""
    try:
        answer = _preview(page, person, today)
    except Refused as refused:
        return MixPage(**{**vars(page), "refusal": refused.sentence})
    instead = None
    if not answer.is_allowed:
        instead = instead_words(answer, page.choice, page.uses, _tank_gal(page.choice))
    return MixPage(**{**vars(page), **_answer(answer, page.size), "instead": instead})


def _preview(page: MixPage, person: Person, today: date) -> Preview:
    choice = page.choice
    return preview(
        person=person,
        property_id=page.property_id,
        zone_ids=choice.zone_ids,
        label_use_id=choice.use_id or 0,
        method=choice.method,
        pest_ids=choice.pest_ids,
        tank_gal=_tank_gal(choice),
        on=today,
        visit_ref=page.visit_ref,
    )


def _tank_gal(choice: Choice) -> Decimal:
    return parse_amount(choice.tank, "gal", at_most=LARGEST_TANK_GAL).value


def mix_tag(person: Person, pk: int, choice: Choice, today: date, *, demo: bool) -> ContainerTag:
    """The tag of a stop's mix; refused until zones and a direction are chosen and mixed."""
    page = mix_page(person, pk, choice, today)
    if page.direction is None or not page.choice.zone_ids:
        raise Refused("container_tag", "Choose zones and a direction for use on the mix first.")
    return container_tag(_preview(page, person, today), person, today, demo=demo)


def _answer(answer: Preview, size: str) -> dict[str, object]:
    checks = sorted(answer.judgements, key=lambda one: list(Severity).index(one.severity))
    mix = _mix_words(answer.mix, size) if answer.mix and answer.is_allowed else None
    return {
        "checks": tuple(checks),
        "is_allowed": answer.is_allowed,
        "verdict": _verdict(checks),
        "mix": mix,
        "summary": _summary(answer, mix),
        "deciding": deciding(answer),
        "wear": wear(answer.setting, answer.direction, is_mixed=answer.finished is not None),
    }


def _verdict(checks: Sequence[Judgement]) -> str:
    warned = sum(check.severity == Severity.WARN for check in checks)
    refused = sum(check.severity == Severity.REFUSE for check in checks)
    words = [f"{refused} refused"] if refused else []
    words += [f"{warned} to check"] if warned else []
    return ", ".join(words) or "nothing to check"


def _summary(answer: Preview, mix: MixWords | None) -> str:
    if not answer.is_allowed:
        return "Refused: see the label check."
    if waits_for_signature(answer.judgements):
        return "Sign first: see the label check."
    if mix is None:
        return "Allowed."
    loads = f", {len(mix.loads)} loads" if len(mix.loads) > 1 else ""
    return f"Allowed. {mix.product}{loads}."


def _mix_words(mix: MixPlan, size: str) -> MixWords:
    return MixWords(
        size=size,
        product=display(mix.measured, 2, round_down=True),
        product_also=_also(mix.measured, mix.ai_lb),
        finished=_gallons(mix.finished_gal) if mix.finished_gal else "",
        explained=_explained(mix),
        warnings=mix.warnings,
        loads=tuple(_load_words(load) for load in mix.loads),
        fill_steps=mix.fill_steps,
    )


def _load_words(load: TankLoad) -> LoadWords:
    gallons = Amount(load.finished_gal, "gal")
    return LoadWords(
        number=load.number,
        product=display(load.measured, 2, round_down=True),
        product_also=_also(load.measured, None),
        finished=_gallons(load.finished_gal),
        finished_also=f"{display(gallons.to('fl_oz'), 1)} · {display(gallons.to('mL'), 0)}",
    )


def _gallons(gallons: Decimal) -> str:
    return display(Amount(gallons, "gal"), 2)


def _also(amount: Amount, ai_lb: Decimal | None) -> str:
    metric = amount.to("mL" if amount.kind == "volume" else "g")
    words = [display(metric, 2, round_down=True)]
    words += [f"{ai_lb:.{LB_PLACES}f} lb active"] if ai_lb is not None else []
    return " · ".join(words)


def _explained(mix: MixPlan) -> str:
    """Where the number came from."""
    words = [f"By area {display(mix.by_area, 3)}."] if mix.by_area else []
    words += [f"By dilution {display(mix.by_dilution, 3)}."] if mix.by_dilution else []
    words.append(f"That is {display(mix.product_per_1000, 3)} per 1,000 sq ft")
    return " ".join(words) + f", {display(mix.product_per_acre, 2)} per acre."
