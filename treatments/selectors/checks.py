"""The label's answer, from the rows: before mixing for the phone, afterwards for the record."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from accounts.refusals import Refused
from accounts.selectors.people import license_in_force
from sites.rules.units import Amount
from sites.selectors.properties import zone_measure
from treatments.models import LabelUse
from treatments.rules.applications import Entered, TreatedZone
from treatments.rules.label_checks import (
    Judgement,
    allowed,
    check,
)
from treatments.rules.label_checks.handling import agitation_steps, with_agitation
from treatments.rules.mix_choices import MixChoice
from treatments.rules.mix_rests import SoFar, rest_share
from treatments.rules.mixing import MixPlan
from treatments.rules.products import LABEL_METHODS, Severity
from treatments.rules.questions import Question
from treatments.rules.rate_choices import NEEDS_REASON
from treatments.rules.safety_questions import refuse_answers
from treatments.rules.treated_parts import refuse_beyond
from treatments.selectors.label_facts import clause_of, label_facts
from treatments.selectors.lots_aboard import LotAboard, lots_aboard
from treatments.selectors.mix_jobs import mix_of
from treatments.selectors.proposed_uses import Known, known_of, proposed_use
from treatments.selectors.safety_questions import answered
from treatments.selectors.same_visit import of_visit, so_far
from treatments.selectors.whole import (
    Part,
    Setting,
    Whole,
    direction_named,
    licenses_on,
    parts_of,
    pests_by_ids,
)

if TYPE_CHECKING:
    from accounts.models import ApplicatorLicense, Person
    from sites.models import Pest, TreatableZone


Licenses = tuple["ApplicatorLicense | None", "ApplicatorLicense | None"]


@dataclass(frozen=True)
class Already:
    """What was read for the same page before, so that it is not read again; the rest is.

    `directions` as `directions_with_label` gives them, `zones` as `zones_at`, `pests` as `pests`,
    `aboard` as `lots_aboard`, `licenses` as `licenses_on`.
    """

    directions: Collection[LabelUse] = ()
    zones: Collection[TreatableZone] = ()
    pests: Collection[Pest] = ()
    aboard: tuple[LotAboard, ...] | None = None
    licenses: Licenses | None = None


NOTHING_YET = Already()
AS_THE_LABEL_ASSUMES = MixChoice()
WHOLE = Decimal(1)
NO_PARTS: Mapping[int, Entered] = {}
COUNTED_ON_AMOUNT = ("rate", "ingredient", "product_year", "volume")


@dataclass(frozen=True)
class Preview:
    """What the phone shows before mixing.

    `mix` is None where the zones are not measured in what the direction counts on; `product` and
    `finished` are what is proposed to put out, rounded down; `is_allowed` is false when something
    is refused; `questions` are the safety questions, each with its answer so far;
    `so_far` is what the visit put on these zones before: then the mix is for the rest of them;
    `known` is what it was judged by.
    """

    setting: Setting
    direction: LabelUse
    parts: tuple[Part, ...]
    mix: MixPlan | None
    judgements: tuple[Judgement, ...]
    product: Amount | None
    finished: Amount | None
    known: Known
    questions: tuple[tuple[Question, str], ...] = ()
    so_far: SoFar | None = None
    share: Decimal = WHOLE

    @property
    def is_allowed(self) -> bool:
        return allowed(self.judgements)


def preview(
    *,
    person: Person,
    property_id: int,
    zone_ids: Collection[int],
    label_use_id: int,
    method: str,
    pest_ids: Collection[int],
    tank_gal: Decimal | None,
    on: date,
    choice: MixChoice = AS_THE_LABEL_ASSUMES,
    answers: tuple[tuple[str, str], ...] = (),
    visit_ref: str = "",
    booked: tuple[tuple[int, date], ...] = (),
    supervisor_id: int | None = None,
    sizes: Mapping[int, Entered] = NO_PARTS,
    already: Already = NOTHING_YET,
) -> Preview:
    """Plan the mix for whole zones, or the parts of `sizes`, and judge it for that person and day.

    `tank_gal` is the tank's content without a sprayer (None: one load takes all); `booked` zone
    and day of other visits to come; `supervisor_id` who supervises, where that is not who the
    license says. Refused: zones of another property, none at all, a direction,
    pest or method that does not exist, an answer that is none, an amount that the measure is too
    coarse for.
    """
    refuse_answers(answers)
    chosen = proposed_setting(
        person, property_id, zone_ids, label_use_id, method, pest_ids, on, sizes, already
    )
    setting = replace(chosen, answers=answers, visit_ref=visit_ref, booked=booked)
    if supervisor_id is not None:
        over = license_in_force(supervisor_id, setting.place.state, on)
        setting = replace(setting, supervisor_license=over, supervisor_id=supervisor_id)
    if setting.use is None:
        raise Refused("direction", "Choose a product and direction for use first.")
    return previewed(setting, setting.use, tank_gal, choice)


def previewed(
    setting: Setting,
    use: LabelUse,
    tank_gal: Decimal | None,
    choice: MixChoice = AS_THE_LABEL_ASSUMES,
    known: Known | None = None,
    at_most: Decimal = WHOLE,
) -> Preview:
    """Plan and judge one direction in a setting; with `known` nothing more is read.

    Where the visit put a part out already, the rest is planned, `at_most` this share of the whole,
    and judged together with it.
    """
    known = known or known_of(setting, [use])
    setting = replace(setting, is_high_rate=choice.rate in NEEDS_REASON)
    before = _so_far(setting, use, known)
    mix = mix_of(setting, use, tank_gal, choice)
    share = WHOLE
    if mix and before:
        share = min(rest_share(mix, before), at_most)
        mix = mix_of(setting, use, tank_gal, choice, share) if share else None
    mix = _agitated(mix, use)
    product = mix.measured if mix else None
    finished = Amount(mix.finished_gal, "gal") if mix and mix.finished_gal else None
    meant = mix.meant if mix else None
    judgements = _judged(setting, use, meant, finished, before_mixing=True, known=known)
    questions = answered(setting, use)
    return Preview(
        setting=setting,
        direction=use,
        parts=setting.parts,
        mix=mix,
        judgements=judgements,
        product=product,
        finished=finished,
        known=known,
        questions=questions,
        so_far=before,
        share=share,
    )


def _agitated(mix: MixPlan | None, use: LabelUse) -> MixPlan | None:
    """The plan with the label's words on agitation in its order of filling."""
    if mix is None:
        return None
    steps = with_agitation(mix.fill_steps, agitation_steps(label_facts(use).limits))
    return replace(mix, fill_steps=steps)


def _so_far(setting: Setting, use: LabelUse, known: Known) -> SoFar | None:
    if not of_visit(setting, use, known.uses):
        return None
    return so_far(proposed_use(setting, use, None, None, known))


def proposed_setting(
    person: Person,
    property_id: int,
    zone_ids: Collection[int],
    label_use_id: int,
    method: str,
    pest_ids: Collection[int],
    on: date,
    sizes: Mapping[int, Entered] = NO_PARTS,
    already: Already = NOTHING_YET,
) -> Setting:
    """Who would treat what with what there; refused where a part does not exist."""
    if not zone_ids or method not in LABEL_METHODS:
        raise Refused("zones", "Choose the zones and the method first.")
    zones = tuple(TreatedZone(key, sizes.get(key)) for key in zone_ids)
    parts = parts_of(property_id, zones, already.zones)
    for part in parts:
        refuse_beyond(zone_measure(part.zone), part.size, part.zone.name)
    place = parts[0].zone.property
    licenses = already.licenses or licenses_on(person.pk, place.state, on)
    license, supervisor_license = licenses
    return Setting(
        place=place,
        applicator=person,
        license=license,
        supervisor_license=supervisor_license,
        parts=parts,
        use=direction_named(label_use_id, already.directions),
        method=method,
        pests=pests_by_ids(tuple(pest_ids), already.pests),
        on=on,
        aboard=lots_aboard(person.pk) if already.aboard is None else already.aboard,
    )


def judge_record(whole: Whole, known: Known | None = None) -> tuple[Judgement, ...]:
    """Everything there is to say of a finished use; a refusal is a violation afterwards.

    Work without a product is not judged by a label. With `known` nothing is read.
    """
    use = whole.use
    if use is None:
        return ()
    judged = _judged(
        whole, use, whole.product_amount, whole.finished_amount, before_mixing=False, known=known
    )
    return (*judged, *_gaps(whole, use))


def _gaps(whole: Whole, use: LabelUse) -> list[Judgement]:
    found = []
    if whole.product_amount is None:
        put_out = f", and {whole.finished_amount} was put out" if whole.finished_amount else ""
        found.append(
            Judgement(
                "product_amount",
                Severity.WARN,
                f"The amount of undiluted product is missing{put_out}.",
                "Record of use, check A06",
            )
        )
    if not whole.application.protective_equipment_confirmed:
        sentence = "The protective equipment of the label was not confirmed."
        clause = clause_of(use, "protective equipment")
        found.append(Judgement("protective_equipment", Severity.WARN, sentence, clause))
    return found


def _judged(
    setting: Setting,
    use: LabelUse,
    product: Amount | None,
    finished: Amount | None,
    *,
    before_mixing: bool,
    known: Known | None = None,
) -> tuple[Judgement, ...]:
    proposed = proposed_use(setting, use, product, finished, known)
    judged = check(label_facts(use), proposed, before_mixing=before_mixing)
    if product is not None:
        return judged
    return tuple(one for one in judged if one.code not in COUNTED_ON_AMOUNT)
