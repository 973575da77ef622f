"""The page on which the bait of a round is recorded: what was added, the label's answer."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from scheduling.rules.bait_groups import BaitGroup
from scheduling.selectors.device_rounds import unrecorded
from scheduling.selectors.mix_choices import Choice
from scheduling.selectors.mix_pages import Asked, MixPage
from scheduling.selectors.mixes import mix_page
from scheduling.selectors.today import own_visit, zone_of
from sites.selectors.devices import last_bait_of
from sites.selectors.identifications import zone_choices
from treatments.rules.label_checks import Judgement
from treatments.rules.products import Method
from treatments.selectors.baits import bait_directions
from treatments.selectors.lots_aboard import lots_aboard

if TYPE_CHECKING:
    from accounts.models import Person

Rows = list[tuple[str, str]]
Answers = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class BaitPage:
    """One group of bait with its direction, the label's answer and its questions."""

    visit_pk: int
    property_id: int
    customer: str
    started_at: datetime | None
    group: BaitGroup
    lots: Rows
    lot: str
    uses: Rows
    use_id: int | None
    zones: Rows
    zone_ids: tuple[int, ...]
    pests: Rows
    pest_ids: tuple[int, ...]
    to_heed: tuple[Judgement, ...]
    refusal: str
    questions: Asked
    answers: Answers


def bait_page(
    person: Person, pk: int, key: str, use_id: int | None, answers: Answers, now: datetime
) -> BaitPage | None:
    """The bait that `key` names at a stop of the person's own; None when nothing of it waits.

    Without a choice the first direction for bait of its label counts; the questions are asked of
    the zones the devices stand in, else of every zone of the property.
    """
    visit = own_visit(person, pk)
    group = next((one for one in unrecorded(visit) if one.key == key), None)
    if group is None:
        return None
    uses = bait_directions(group.first.ref)
    use = next((one for one in uses if one.pk == use_id), None) or next(iter(uses), None)
    zones = zone_choices(visit.property_id)
    known = group.zone_ids or tuple(pk for pk, _ in zones)
    named = answers or (("bait_placements", str(len(group.lines))),)
    mix = _mixed(person, pk, known, use.pk if use else None, named, now)
    return BaitPage(
        visit_pk=visit.pk,
        property_id=visit.property_id,
        customer=visit.property.customer.name,
        started_at=visit.started_at,
        group=group,
        **_lots(person, group),
        uses=[(str(one.pk), one.title) for one in uses],
        use_id=use.pk if use else None,
        zones=[(str(pk), name) for pk, name in zones],
        zone_ids=group.zone_ids,
        pests=[(str(pest.pk), pest.common_name) for pest in use.pests.all()] if use else [],
        pest_ids=mix.choice.pest_ids,
        to_heed=mix.to_heed,
        refusal=mix.refusal,
        questions=mix.questions,
        answers=answers,
    )


def _lots(person: Person, group: BaitGroup) -> dict[str, Any]:
    """The lots of the label aboard and the one to begin with: as said at the devices, else last."""
    label = group.first.ref
    aboard = [one.number for one in lots_aboard(person.pk) if str(one.label_version_id) == label]
    last = last_bait_of(person.pk)
    said = (group.first.lot, last.lot if last and last.product_ref == label else "", *aboard)
    return {
        "lots": [(number, number) for number in dict.fromkeys(aboard)],
        "lot": next((number for number in said if number in aboard), ""),
    }


def _mixed(
    person: Person,
    pk: int,
    zone_ids: tuple[int, ...],
    use_id: int | None,
    answers: Answers,
    now: datetime,
) -> MixPage:
    """What the label says of the bait, as on the mix."""
    choice = Choice(zone_ids=zone_ids, use_id=use_id, method=Method.BAIT, answers=answers)
    return mix_page(person, pk, choice, now.astimezone(zone_of(person)).date())
