"""The label's answer, from the rows: before mixing for the phone, afterwards for the record."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from accounts.refusals import Refused
from sites.rules.units import Amount
from treatments.models import LabelUse
from treatments.rules.applications import TreatedZone
from treatments.rules.label_checks import (
    Judgement,
    allowed,
    check,
)
from treatments.rules.mixing import Job, MixPlan, plan_mix, plan_unmixed, proposed_amount
from treatments.rules.products import Method, MixBasis, RateBasis, Severity
from treatments.rules.rates import IN_SPRAY, Rate
from treatments.rules.safety_questions import Question, refuse_answers
from treatments.selectors.label_facts import (
    clause_of,
    label_facts,
    percent_active,
    pounds_per_gallon,
    rate_of,
)
from treatments.selectors.proposed_uses import proposed_use
from treatments.selectors.safety_questions import answered
from treatments.selectors.whole import (
    Part,
    Setting,
    Whole,
    direction_named,
    licenses_on,
    parts_of,
    pests_by_ids,
    together,
)

if TYPE_CHECKING:
    from accounts.models import Person


COUNTED_IN = {RateBasis.LINEAR: "ft", RateBasis.COUNT: "each", RateBasis.SPACE_VOLUME: "ft3"}
COUNTED_ON_AMOUNT = ("rate", "ingredient", "product_year", "volume")


@dataclass(frozen=True)
class Preview:
    """What the phone shows before mixing.

    `mix` is None where the direction is not counted by area; `product` and `finished` are what
    is proposed to put out, rounded down; `is_allowed` is false when something is refused;
    `questions` are the safety questions, each with its answer so far.
    """

    direction: LabelUse
    parts: tuple[Part, ...]
    mix: MixPlan | None
    judgements: tuple[Judgement, ...]
    product: Amount | None
    finished: Amount | None
    questions: tuple[tuple[Question, str], ...] = ()

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
    graduation: Decimal | None = None,
    answers: tuple[tuple[str, str], ...] = (),
    booked: tuple[tuple[int, date], ...] = (),
) -> Preview:
    """Plan the mix for whole zones and judge it for who would put it out on that day.

    `tank_gal` is the sprayer's content (None: one load takes all), `graduation` the finest mark
    of the measure in the product's unit, `booked` zone and day of other visits to come. Refused:
    zones of another property, none at all, a direction, pest or method that does not exist, an
    answer that is none.
    """
    refuse_answers(answers)
    chosen = _setting(person, property_id, zone_ids, label_use_id, method, pest_ids, on)
    setting = replace(chosen, answers=answers, booked=booked)
    use = setting.use
    if use is None:
        raise Refused("direction", "Choose a product and direction for use first.")
    mix = _mix(setting, use, tank_gal, graduation)
    product = mix.measured if mix else _counted(setting, use)
    finished = Amount(mix.finished_gal, "gal") if mix and mix.finished_gal else None
    judgements = _judged(setting, use, product, finished, before_mixing=True)
    questions = answered(setting, use)
    return Preview(use, setting.parts, mix, judgements, product, finished, questions)


def _setting(
    person: Person,
    property_id: int,
    zone_ids: Collection[int],
    label_use_id: int,
    method: str,
    pest_ids: Collection[int],
    on: date,
) -> Setting:
    if not zone_ids or method not in list(Method):
        raise Refused("zones", "Choose the zones and the method first.")
    parts = parts_of(property_id, tuple(TreatedZone(zone_id) for zone_id in zone_ids))
    place = parts[0].zone.property
    license, supervisor_license = licenses_on(person.pk, place.state, on)
    return Setting(
        place=place,
        applicator=person,
        license=license,
        supervisor_license=supervisor_license,
        parts=parts,
        use=direction_named(label_use_id),
        method=method,
        pests=pests_by_ids(tuple(pest_ids)),
        on=on,
    )


def _mix(
    setting: Setting, use: LabelUse, tank_gal: Decimal | None, graduation: Decimal | None
) -> MixPlan | None:
    area = _square_feet(setting.parts)
    if area and use.rate_basis in IN_SPRAY and use.gallons_per_1000:
        return plan_mix(_spray_job(use, area, use.gallons_per_1000, tank_gal, graduation))
    if not area or use.rate_basis != RateBasis.AREA:
        return None
    rate = Rate.of(RateBasis.AREA, use.rate_min or use.rate_max, use.rate_unit)
    if use.gallons_per_1000 is None:
        return plan_unmixed(area, rate, percent_active(use))
    per_gallon = use.per_gallon if use.rate_min is None else None
    return plan_mix(
        Job(
            area_sq_ft=area,
            finished_gal_per_1000=use.gallons_per_1000,
            tank_gal=area / 1000 * use.gallons_per_1000 if tank_gal is None else tank_gal,
            area_rate=rate,
            dilution=_dilution(per_gallon, use.rate_unit),
            mix_basis=MixBasis(use.mix_basis),
            lb_ai_per_gal=pounds_per_gallon(use),
            percent_ai=percent_active(use),
            most=Rate.of(RateBasis.AREA, use.rate_max, use.rate_unit),
            graduation=graduation,
        )
    )


def _spray_job(
    use: LabelUse,
    area: Decimal,
    gallons_per_1000: Decimal,
    tank_gal: Decimal | None,
    graduation: Decimal | None,
) -> Job:
    """A job whose label names product in the spray: per gallon made up or added to, or percent."""
    is_added = use.rate_basis == RateBasis.DILUENT_VOLUME
    return Job(
        area_sq_ft=area,
        finished_gal_per_1000=gallons_per_1000,
        tank_gal=tank_gal or area / 1000 * gallons_per_1000,
        dilution=_in_spray(use, use.rate_min or use.rate_max),
        mix_basis=MixBasis.PER_DILUENT if is_added else MixBasis.PER_FINISHED,
        lb_ai_per_gal=pounds_per_gallon(use),
        percent_ai=percent_active(use),
        most=_in_spray(use, use.rate_max),
        graduation=graduation,
    )


def _in_spray(use: LabelUse, value: Decimal) -> Rate:
    if use.rate_basis != RateBasis.PERCENT:
        return Rate.of(RateBasis.FINISHED_VOLUME, value, use.rate_unit)
    in_100_gal = Amount(value, "gal").to(use.rate_unit)
    per = Amount(Decimal(100), "gal")
    return Rate(RateBasis.FINISHED_VOLUME, in_100_gal, per)


def _counted(setting: Setting, use: LabelUse) -> Amount | None:
    """What to put out where the label counts length, placements or space; 95 % of its most."""
    unit = COUNTED_IN.get(RateBasis(use.rate_basis))
    size = together(setting.parts, unit) if unit else None
    if size is None:
        return None
    most = rate_of(use).product_on(size)
    least = use.rate_min or use.rate_max
    return proposed_amount(Amount(most.value * least / use.rate_max, most.unit), most)


def _dilution(per_gallon: Decimal | None, unit: str) -> Rate | None:
    return None if per_gallon is None else Rate.of(RateBasis.FINISHED_VOLUME, per_gallon, unit)


def _square_feet(parts: Collection[Part]) -> Decimal:
    return sum((part.size.area.to("ft2").value for part in parts), Decimal(0))


def judge_record(whole: Whole) -> tuple[Judgement, ...]:
    """Everything there is to say of a finished use; a refusal is a violation afterwards.

    Work without a product is not judged by a label.
    """
    use = whole.use
    if use is None:
        return ()
    judged = _judged(whole, use, whole.product_amount, whole.finished_amount, before_mixing=False)
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
) -> tuple[Judgement, ...]:
    proposed = proposed_use(setting, use, product, finished)
    judged = check(label_facts(use), proposed, before_mixing=before_mixing)
    if product is not None:
        return judged
    return tuple(one for one in judged if one.code not in COUNTED_ON_AMOUNT)
