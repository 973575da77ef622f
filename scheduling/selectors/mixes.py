"""The mix of a stop, in words and in the units of the label."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from accounts.refusals import Refused
from scheduling.selectors.booked_zones import booked_zones
from scheduling.selectors.instead import instead_words
from scheduling.selectors.last_loads import InTank, ways_to_mix
from scheduling.selectors.mix_answers import answered
from scheduling.selectors.mix_choices import (
    Choice,
    mix_choice,
    offered_beside,
    offered_measures,
    offered_rates,
    offered_sprayers,
    reason_words,
    with_defaults,
)
from scheduling.selectors.mix_found import Found, found_at
from scheduling.selectors.mix_pages import DirectionFacts, MixPage
from scheduling.selectors.mix_parts import planned_sizes, within_label
from scheduling.selectors.stops import zone_rows
from scheduling.selectors.supervisors import with_supervisors
from scheduling.selectors.unlisted import (
    deciding,
    methods_of,
    pest_rows,
)
from treatments.reports.tag_words import ContainerTag
from treatments.selectors.alternatives import has_truck, labels_at_hand
from treatments.selectors.checks import Preview, preview
from treatments.selectors.container_tags import container_tag
from treatments.selectors.label_facts import rate_of
from treatments.selectors.mix_jobs import takes_water
from treatments.selectors.tank_mixes import TankMix, tank_mix
from treatments.selectors.windows import windows_of
from treatments.selectors.withdrawals import ended_by

if TYPE_CHECKING:
    from accounts.models import Person
    from treatments.models import LabelUse


def mix_page(person: Person, pk: int, choice: Choice, today: date) -> MixPage:
    """Gather the zones and directions of a stop and, once both are chosen, the label's answer."""
    found = found_at(person, pk, choice, today)
    use = found.use
    full = with_defaults(choice, use, found.sprayers)
    page = _offered(_chosen(found, full, today), use)
    page = with_supervisors(page, person, today)
    if use is None or not full.zone_ids:
        return page
    return _judged(page, use, person, today)


def _offered(page: MixPage, use: LabelUse | None) -> MixPage:
    """The page with the rates, measures, sprayers and other products of its direction."""
    if use is None:
        return page
    page = replace(
        page,
        rates=offered_rates(use),
        measures=offered_measures(use),
        rate_words=reason_words(page.choice, use),
        takes_water=takes_water(use),
    )
    return _with_water(page, use) if page.takes_water else page


def _with_water(page: MixPage, use: LabelUse) -> MixPage:
    beside, sprayers = offered_beside(use, page.uses), page.found.sprayers
    is_offered = str(page.choice.also_id) in dict(beside)
    return replace(
        page,
        sprayers=offered_sprayers(sprayers, page.choice.system),
        sprayer=sprayers.get(page.choice.equipment_id or 0),
        beside=beside,
        choice=page.choice if is_offered else replace(page.choice, also_id=None),
    )


def _chosen(found: Found, choice: Choice, today: date) -> MixPage:
    visit, use = found.visit, found.use
    windows = windows_of([zone.pk for zone in found.zones])
    chosen = frozenset(choice.zone_ids)
    pests, others = pest_rows(use, choice.pest_ids, found.pests) if use else ((), ())
    known = tuple(pest.pk for pest in pests if pest.is_chosen)
    return MixPage(
        found=found,
        visit_pk=visit.pk,
        visit_ref=str(visit.ref),
        property_id=visit.property_id,
        customer=visit.property.customer.name,
        summary="Choose zones, then a product and direction for use.",
        zones=zone_rows(found.zones, windows, today, chosen, choice.parts),
        uses=found.uses,
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


def _judged(page: MixPage, use: LabelUse, person: Person, today: date) -> MixPage:
    """Ask the label; what cannot be worked out is said on the page, and nothing typed is lost."""
    try:
        _refuse_left_behind(page, use, person, today)
        answer = _preview(page, use, person, today)
        tank = _tank(answer, page, use)
        answer = tank.first if tank else answer
        ways = ways_to_mix(person, page, _products(answer, tank), today)
    except Refused as refused:
        return replace(page, refusal=refused.sentence)
    judged = replace(page, ways=ways, answer=answer, tank=tank)
    page = answered(_beside(judged, answer), answer, tank)
    return replace(page, within_label=within_label(page, use, page.checks))


def _refuse_left_behind(page: MixPage, use: LabelUse, person: Person, today: date) -> None:
    """A superseded label is mixed from a lot that carries it; none aboard asks for the new one."""
    label, found = use.label_version, page.found
    if label.effective_on > today or ended_by(label, today) or use in found.at_hand.in_force:
        return
    is_truck = has_truck(person, found.aboard)
    if label.pk not in labels_at_hand(person, today, found.aboard, is_truck=is_truck):
        raise Refused(
            "superseded",
            f"The {label} is superseded and no lot of it is on your truck. Choose a direction of "
            "the label on your container.",
        )


def _products(answer: Preview, tank: TankMix | None) -> list[InTank]:
    """What is mixed together; nothing where the label refuses."""
    if answer.mix is None or not answer.is_allowed or (tank and not tank.is_allowed):
        return []
    second = [InTank(tank.second.direction, tank.plan)] if tank else []
    return [InTank(answer.direction, answer.mix), *second]


def _beside(page: MixPage, answer: Preview) -> MixPage:
    """What is allowed instead of a refusal, and who decides where the label is silent."""
    instead = None
    if not answer.is_allowed:
        tank_gal = None if page.sprayer else page.choice.tank_gal
        others = page.found.at_hand.others
        instead = instead_words(answer, page.choice, page.uses, tank_gal, others)
    return replace(page, instead=instead, deciding=deciding(answer))


def _tank(answer: Preview, page: MixPage, use: LabelUse) -> TankMix | None:
    """The second product of the tank, where one of those offered was chosen."""
    choice = page.choice
    if choice.also_id is None or not page.beside:
        return None
    return tank_mix(
        answer,
        choice.also_id,
        tank_gal=None if page.sprayer else choice.tank_gal,
        choice=mix_choice(choice, use, page.sprayer),
        answers=choice.also_answers,
        already=page.uses,
    )


def _preview(page: MixPage, use: LabelUse, person: Person, today: date) -> Preview:
    choice = page.choice
    return preview(
        person=person,
        property_id=page.property_id,
        zone_ids=choice.zone_ids,
        label_use_id=use.pk,
        method=choice.method,
        pest_ids=choice.pest_ids,
        tank_gal=None if page.sprayer else choice.tank_gal,
        on=today,
        choice=mix_choice(choice, use, page.sprayer),
        visit_ref=page.visit_ref,
        answers=choice.answers,
        booked=booked_zones(choice.zone_ids, today, but_visit=page.visit_pk),
        supervisor_id=choice.supervisor_id,
        sizes=planned_sizes(page),
        already=page.found.already,
    )


def mix_tag(person: Person, pk: int, choice: Choice, today: date, *, demo: bool) -> ContainerTag:
    """The tag of a stop's mix; refused until zones and a direction are chosen and mixed."""
    page = mix_page(person, pk, choice, today)
    if page.use is None or not page.choice.zone_ids:
        raise Refused("container_tag", "Choose zones and a direction for use on the mix first.")
    if page.refusal or page.answer is None:
        raise Refused("container_tag", page.refusal)
    if page.deciding:
        raise Refused("container_tag", "The certified applicator signs first. Then mix and tag.")
    answers = [page.answer, *([page.tank.second] if page.tank else [])]
    return container_tag(answers, person, today, demo=demo)
