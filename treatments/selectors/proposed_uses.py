"""A use as the label check takes it, from its rows and the history of its zones."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from accounts.rules.respirators import Papers
from accounts.rules.training import Training
from accounts.selectors.people import respirator_papers
from accounts.selectors.register import trainings_of
from sites.rules.places import PestGroup, Place, PreferenceKind, Surface
from sites.rules.units import Amount
from sites.selectors.properties import hard_preferences_of, has_bees
from treatments.models import LabelUse
from treatments.rules.applications import reading
from treatments.rules.label_checks import (
    Conditions,
    HardPreference,
    License,
    ProposedUse,
    ZoneUse,
)
from treatments.rules.label_checks.history import YEARLY
from treatments.rules.license_categories import categories_that_do, rule_asking
from treatments.rules.products import LicenseKind, Method, Severity
from treatments.rules.profiles import Profile, forbids
from treatments.selectors.decisions import AskedAndDecided, decisions_in, is_silent
from treatments.selectors.lots_aboard import carried
from treatments.selectors.past_uses import (
    Holding,
    PastUse,
    earlier_uses,
    first_day,
    holding_of,
    ingredient_used_on,
    ingredients_of,
    irac_groups,
    irac_schemes,
    last_used_on,
    looked_back,
    of_product,
    past_uses,
    product_this_year,
    uses_this_year,
)
from treatments.selectors.profile_jobs import followed_of
from treatments.selectors.profiles import profiles_of
from treatments.selectors.safety_questions import given
from treatments.selectors.same_visit import of_visit, with_visit
from treatments.selectors.site_facts import SiteFacts, site_facts, surface_of
from treatments.selectors.wearing import tasks_in
from treatments.selectors.whole import Part, Setting, latest_license, together

if TYPE_CHECKING:
    from accounts.models import ApplicatorLicense
    from sites.models import Preference

LICENSE_KINDS = {"trainee": LicenseKind.APPRENTICE}


@dataclass(frozen=True)
class Known:
    """What is read once for many directions; `uses` from `since` on."""

    uses: list[PastUse]
    holding: Holding
    license: License | None
    supervisor: License | None
    preferences: tuple[Preference, ...]
    asked: AskedAndDecided
    respirators: tuple[Papers, ...]
    trainings: tuple[Training, ...]
    has_bees: bool
    profiles: tuple[Profile, ...]
    site: SiteFacts
    since: date | None = None


def known_of(setting: Setting, uses: Collection[LabelUse]) -> Known:
    """Everything that judging these directions there takes from the database; four queries.

    More only where a direction asks for it: training for restricted use, respirator papers,
    decisions where a label is silent, units and contacts of the property where a label speaks of
    vacant places and of schools, the person's other licenses where none is in force.
    """
    return with_past(known_apart(setting, uses), setting, uses)


def known_also(known: Known, setting: Setting, uses: Collection[LabelUse]) -> Known:
    """The same of the setting, with what more directions than before ask for."""
    known = replace(known, **_asked_by(setting, uses))
    if known.since is None or first_day(uses, setting.on) < known.since:
        return with_past(known, setting, uses)
    return replace(known, holding=known.holding | holding_of(uses, ()))


def known_apart(setting: Setting, uses: Collection[LabelUse]) -> Known:
    """All of it but what was put down there before."""
    license = setting.license or latest_license(setting.applicator.pk, setting.place.state)
    return Known(
        uses=[],
        holding={},
        license=_license(license),
        supervisor=_license(setting.supervisor_license),
        preferences=tuple(hard_preferences_of(setting.place.pk)),
        has_bees=_has_bees(setting),
        profiles=profiles_of(setting.place.state, is_restricted=_is_any_restricted(uses)),
        **_asked_by(setting, uses),
    )


def _has_bees(setting: Setting) -> bool:
    """As the zones say it, once they are known."""
    for part in setting.parts:
        return bool(part.zone.has_bees)  # type: ignore[attr-defined]
    return has_bees(setting.place.pk)


def _asked_by(setting: Setting, uses: Collection[LabelUse]) -> dict[str, Any]:
    """What only some directions ask for; what none of these asks for is not read."""
    return {
        "asked": _decisions(setting, uses),
        "respirators": _respirators(setting, uses),
        "trainings": _trainings(setting, uses),
        "site": site_facts(setting.place, uses),
    }


def _decisions(setting: Setting, uses: Collection[LabelUse]) -> AskedAndDecided:
    """By direction; there is nothing to decide where it names the method and every pest."""
    if not any(is_silent(setting, use) for use in uses):
        return AskedAndDecided({use.pk: () for use in uses})
    return decisions_in(setting, uses)


def _respirators(setting: Setting, uses: Collection[LabelUse]) -> tuple[Papers, ...]:
    if not any(row.respirators for use in uses for row in use.label_version.protections.all()):
        return ()
    return respirator_papers(setting.applicator.pk)


def with_past(known: Known, setting: Setting, uses: Collection[LabelUse]) -> Known:
    """Add what was put down there before; under the property's lock it stays so."""
    past, since = past_uses(uses, setting.place.pk, setting.on), first_day(uses, setting.on)
    return replace(known, uses=past, holding=holding_of(uses, past), since=since)


def _trainings(setting: Setting, uses: Collection[LabelUse]) -> tuple[Training, ...]:
    return trainings_of(setting.applicator.pk) if _is_any_restricted(uses) else ()


def _is_any_restricted(uses: Collection[LabelUse]) -> bool:
    return any(use.label_version.product.is_restricted_use for use in uses)


def proposed_use(
    setting: Setting,
    use: LabelUse,
    product: Amount | None,
    finished: Amount | None,
    known: Known | None = None,
) -> ProposedUse:
    """What is to be judged: treated zones with their history, amounts, license, wishes, weather.

    What the same visit put out before of the product is no earlier use: it counts with this one
    (`this_visit`), and in the amounts of a year.
    Without an amount of product it is zero of the label's unit; the caller leaves out what is
    counted on it. `known` is read here unless somebody has read it for many directions.
    """
    known = known or known_of(setting, [use])
    zone_ids = {part.zone.pk for part in setting.parts}
    there, holding = looked_back(use, known.uses, setting.on), known.holding
    uses = [one for one in there if one.zone_id in zone_ids]
    visit = of_visit(setting, use, there)
    earlier = _but(visit, uses)
    weather = setting.weather
    proposed = ProposedUse(
        on=setting.on,
        state=setting.place.state,
        zones=tuple(
            replace(_zone_use(part, setting, use, earlier, holding), **surface_of(part, visit))
            for part in setting.parts
        ),
        method=Method(setting.method),
        pests={pest.common_name: PestGroup(pest.group) for pest in setting.pests},
        product=product or Amount(Decimal(0), use.rate_unit),
        finished=finished,
        diluent=_diluent(product, finished),
        length=together(setting.parts, "ft"),
        count=together(setting.parts, "each"),
        space=together(setting.parts, "ft3"),
        license=known.license,
        supervisor=known.supervisor,
        preferences=_hard_preferences(known, use, is_over=setting.over_at is not None),
        answers=given(setting, use),
        decisions=known.asked.decisions[use.pk],
        tasks=tasks_in(setting, use, is_mixed=finished is not None),
        respirators=known.respirators,
        trainings=known.trainings,
        conditions=Conditions(
            reading(weather.wind_mph),
            reading(weather.temperature_f),
            water_distance_ft=setting.place.water_distance_ft,
            water_measured_on=setting.place.water_measured_on,
        ),
        beneficial=_named(setting, "beneficial"),
        referred=_named(setting, "refer"),
        has_bees=known.has_bees,
        irac_groups=irac_groups(use.label_version.product_id, holding),
        earlier=earlier_uses(_but(visit, there), holding, zone_ids, setting.on),
        irac_schemes=irac_schemes(use.label_version.product_id, holding),
        history_known_since=setting.place.created_at.date(),
        is_over=setting.over_at is not None,
        more_follows=setting.more_follows,
        is_high_rate=setting.is_high_rate,
        units_occupied=known.site.units_occupied,
        is_school=known.site.is_school,
        site_kind=known.site.site_kind,
        **_categories(setting, use),
        lots=carried(setting.aboard, use),
        **_unlisted(setting, use, known, is_mixed=finished is not None),
    )
    proposed = with_visit(proposed, setting, use, there)
    return _with_year(proposed, use, product, uses, holding)


def _categories(setting: Setting, use: LabelUse) -> dict[str, Any]:
    """The license categories of which one would do; none where no rule asks for one."""
    is_restricted = use.label_version.product.is_restricted_use
    rule = rule_asking(setting.place.state, is_restricted_use=is_restricted)
    if not rule:
        return {}
    places = {Place(part.zone.place) for part in setting.parts}
    return {"categories": categories_that_do(places), "category_clause": rule}


def _but(visit: list[PastUse], uses: list[PastUse]) -> list[PastUse]:
    """What was done before this application; loads of one visit are one application."""
    loads = {one.record_id for one in visit}
    return [one for one in uses if one.record_id not in loads]


def _unlisted(setting: Setting, use: LabelUse, known: Known, *, is_mixed: bool) -> dict[str, Any]:
    """What the rules of the place say about what a label does not name: only a verified no."""
    rules = followed_of(setting, use, known.profiles, is_mixed=is_mixed).profiles
    found: dict[str, Any] = {}
    for what in ("unlisted_pest", "unlisted_method"):
        forbidding = forbids(rules, what)
        if forbidding is not None:
            found |= {f"allows_{what}": Severity.REFUSE, f"{what}_clause": forbidding.source}
    return found


def _diluent(product: Amount | None, finished: Amount | None) -> Amount | None:
    """The water: finished spray less a liquid product; a dry one takes no room worth counting."""
    if finished is None or product is None or product.kind != "volume":
        return finished
    return Amount(finished.value - product.to(finished.unit).value, finished.unit)


def _with_year(
    proposed: ProposedUse,
    use: LabelUse,
    product: Amount | None,
    uses: list[PastUse],
    holding: Holding,
) -> ProposedUse:
    if not proposed.area.value or not any(
        row.fact in YEARLY for row in use.label_version.limits.all()
    ):
        return proposed
    return replace(
        proposed,
        ingredients=ingredients_of(use, product, uses, holding, proposed.on),
        product_this_year=product_this_year(of_product(use, uses), proposed.on, use.rate_unit),
    )


def _zone_use(
    part: Part, setting: Setting, use: LabelUse, uses: list[PastUse], holding: Holding
) -> ZoneUse:
    zone, own = part.zone, of_product(use, uses)
    area = part.size.area.to("ft2")
    return ZoneUse(
        name=zone.name,
        place=Place(zone.place),
        surface=Surface(zone.surface),
        area=area,
        height_up_ft=_feet(zone.height_up, zone.length_unit),
        width_out_ft=_feet(zone.width_out, zone.length_unit),
        is_rain_protected=zone.is_rain_protected,
        is_over_impervious=zone.is_over_impervious,
        spot_sq_ft=area.value if setting.method == Method.SPOT and area.value else None,
        last_used_on=last_used_on(own, zone.pk, setting.on),
        ingredient_used_on=ingredient_used_on(use, uses, holding, zone.pk, setting.on),
        uses_this_year=uses_this_year(own, zone.pk, setting.on),
        booked_on=tuple(day for zone_id, day in setting.booked if zone_id == zone.pk),
    )


def _named(setting: Setting, kind: str) -> frozenset[str]:
    return frozenset(pest.common_name for pest in setting.pests if pest.kind == kind)


def _feet(length: str, unit: str) -> Decimal:
    return Amount(Decimal(length), unit).to("ft").value


def _license(row: ApplicatorLicense | None) -> License | None:
    if row is None:
        return None
    return License(
        kind=LICENSE_KINDS.get(row.kind) or LicenseKind(row.kind),
        number=row.number,
        state=row.state,
        expires_on=row.expires_on,
        issued_on=row.issued_on,
        categories=frozenset(one.strip() for one in row.categories.split(",") if one.strip()),
    )


def _hard_preferences(known: Known, use: LabelUse, *, is_over: bool) -> tuple[HardPreference, ...]:
    """What the customer insists on; without names and notes once it goes into a record's leaf."""
    name = use.label_version.product.name
    return tuple(
        HardPreference(
            kind=PreferenceKind(row.kind),
            said_by="" if is_over else row.said_by,
            said_on=row.said_on,
            note="" if is_over else row.note,
            # a note that only mentions a product cannot be judged here: it asks
            product_name=name if row.note.strip().casefold() == name.casefold() else "",
        )
        for row in known.preferences
    )
