"""A job as the rules of the states ask about it, and what a record gives them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from accounts.selectors.customers import contacts_of
from sites.rules.places import Place, is_school
from sites.rules.units import Amount
from treatments.models import LabelUse
from treatments.rules.dilutions import LB_WATER_PER_GAL, active_ingredient_lb
from treatments.rules.predicates import Fact, Job
from treatments.rules.products import LimitFact, Method, RateBasis, RegistrationKind
from treatments.rules.profile_words import Item
from treatments.rules.profiles import Profile, resolve, wanted
from treatments.selectors.label_facts import label_facts, percent_active, pounds_per_gallon
from treatments.selectors.profiles import profiles_of
from treatments.selectors.whole import Part, Setting, Whole

# Which places are inside, at and away from a structure: house rule. A band of soil is at the wall
# on one side only, so whether it is "immediately adjacent" is not known.
INSIDE = frozenset(
    {
        Place.CRACK_CREVICE,
        Place.INTERIOR_SPOT,
        Place.VOID,
        Place.ATTIC,
        Place.CRAWL_SPACE,
        Place.FOOD_AREA,
    }
)
AT_WALL = frozenset({Place.FOUNDATION_WALL, Place.EAVE_SOFFIT, Place.ENTRY_POINT})
AWAY = frozenset({Place.VEGETATION, Place.OPEN_SPACE})
NO_NUMBER = frozenset(
    {RegistrationKind.EXEMPT_25B, RegistrationKind.DEVICE, RegistrationKind.NOT_A_PESTICIDE}
)
# Names of pests that are wood-destroying organisms in every state's license list: common
# practice, no source. Other pests of wood are not told apart here.
WOOD_DESTROYING = ("termite", "powderpost", "old house borer")


@dataclass(frozen=True)
class Followed:
    """The profiles one job follows, and the job as they ask about it."""

    profiles: tuple[Profile, ...]
    job: Job


NOTHING = Followed((), Job())


def followed_by(
    setting: Setting,
    *,
    is_mixed: bool | None = None,
    profiles: tuple[Profile, ...] | None = None,
) -> Followed:
    """The rules of a proposed or finished use; none without a product. One query.

    `is_mixed`: whether there is finished spray; None before that is known. `profiles` as
    `profiles_of` gives them, where they were read already: then without a query.
    """
    if setting.use is None:
        return NOTHING
    every = profiles_of(setting.place.state) if profiles is None else profiles
    return followed_of(setting, setting.use, every, is_mixed=is_mixed)


def followed_of(
    setting: Setting, use: LabelUse, every: tuple[Profile, ...], *, is_mixed: bool | None = None
) -> Followed:
    """The rules of one direction among those read already."""
    job = _job(setting, use, is_mixed)
    return Followed(resolve(every, state=setting.place.state, on=setting.on, job=job), job)


def _job(setting: Setting, use: LabelUse, is_mixed: bool | None) -> Job:
    product = use.label_version.product
    kind = RegistrationKind(product.registration_kind)
    facts: dict[Fact, bool | None] = {
        Fact.IS_RUP: product.is_restricted_use,
        Fact.REGISTERED: kind not in NO_NUMBER,
        Fact.DILUTED: is_mixed if is_mixed is None else is_mixed or _is_to_be_mixed(use),
        Fact.LABEL_RATE_PER_AREA: use.rate_basis == RateBasis.AREA,
        Fact.LABEL_HAS_REENTRY_INTERVAL: use.label_version.reentry_minutes is not None,
        Fact.BAIT_STATION: setting.method == Method.BAIT,
        Fact.DEVICE: kind == RegistrationKind.DEVICE,
        Fact.APPLICATOR_NONCERTIFIED: not _is_certified(setting),
        Fact.WDO_WORK: _is_wood_work(setting),
        Fact.SCHOOL_SITE: is_school(setting.place.site_kind),
        Fact.BEYOND_LABEL_BAND: _is_beyond_band(setting, use),
        # neither is offered here
        Fact.FUMIGATION: False,
        Fact.AGRICULTURAL: False,
        **where_of({Place(part.zone.place) for part in setting.parts}),
    }
    known = {fact: said for fact, said in facts.items() if said is not None}
    return Job(known, distance_ft=_distance(setting.parts))


def _is_to_be_mixed(use: LabelUse) -> bool:
    """Whether the label has it put out in water: without finished spray that amount is missing."""
    in_water = (RateBasis.FINISHED_VOLUME, RateBasis.DILUENT_VOLUME, RateBasis.PERCENT)
    return use.rate_basis in in_water or bool(use.per_gallon or use.gallons_per_1000)


def _is_certified(setting: Setting) -> bool:
    return setting.license is not None and setting.license.kind == "certified"


def _is_beyond_band(setting: Setting, use: LabelUse) -> bool | None:
    """Whether a band goes out farther than the label says; None where it gives no width.

    Ground beyond the band of the label is lawn work in New York (6 NYCRR 325.1(s)(3) as the
    policy DSHM-PES-05-11 reads it; what holds without a width on the label was not read).
    """
    rows = label_facts(use).limits
    widths = [row.limit for row in rows if row.fact == LimitFact.WIDTH_OUT and row.limit]
    if not widths:
        return None
    outs = [_width(part) for part in setting.parts if Place(part.zone.place) not in INSIDE]
    return any(out > min(widths) for out in outs)


def _is_wood_work(setting: Setting) -> bool:
    names = " ".join(pest.common_name.casefold() for pest in setting.pests)
    return any(word in names for word in WOOD_DESTROYING)


def where_of(places: set[Place]) -> dict[Fact, bool | None]:
    """Whether work on these places is inside, outdoors, at a structure; None is not known."""
    is_inside = places <= INSIDE
    adjacent: bool | None = places <= AT_WALL | INSIDE
    if not adjacent and not places & AWAY:
        adjacent = None
    return {
        Fact.OUTDOOR: not is_inside,
        Fact.IN_STRUCTURE: is_inside,
        Fact.ADJACENT_TO_STRUCTURE: adjacent and not is_inside,
    }


def _distance(parts: Iterable[Part]) -> Decimal | None:
    """How far from a structure the work reaches, in ft; None where a zone has no width."""
    found = [_reach(part) for part in parts]
    known = [one for one in found if one is not None]
    return max(known) if known and len(known) == len(found) else None


def _reach(part: Part) -> Decimal | None:
    return reach_of(Place(part.zone.place), _width(part))


def _width(part: Part) -> Decimal:
    return Amount(Decimal(part.zone.width_out), part.zone.length_unit).to("ft").value


def reach_of(place: Place, width: Decimal) -> Decimal | None:
    """How far from a structure a band of `width` ft reaches; None where nobody can say."""
    if place in AWAY:
        return None
    if place in INSIDE:
        return Decimal(0)
    return width if width or place in AT_WALL else None


def given_by(whole: Whole, phone: str) -> frozenset[Item]:
    """The items of a record that are filled, as the rules of the states name them."""
    filled = {**_always(whole), **_place(whole), **_product(whole), **_people(whole)}
    filled[Item.CUSTOMER_PHONE] = phone
    return frozenset(item for item, said in filled.items() if said)


def _always(whole: Whole) -> dict[Item, object]:
    application, weather = whole.application, whole.application.weather
    return {
        Item.APPLICATION_DATE: True,
        Item.START_TIME: True,
        Item.END_TIME: True,
        Item.TARGET_PEST: whole.pests,
        Item.SITE_TREATED: whole.parts,
        Item.METHOD_EQUIPMENT: application.method and application.equipment,
        Item.WIND_SPEED: weather.wind_mph,
        Item.WIND_DIRECTION: weather.wind_direction,
        Item.AIR_TEMPERATURE: weather.temperature_f,
        Item.CONDITIONS: weather.conditions,
        Item.PARTICIPANTS: application.participants,
        Item.MIXING_LOCATION: application.mixing_location,
        Item.LOCATION_DETAIL: application.location_detail,
        Item.PRODUCT_SUPPLIER: application.product_supplier,
    }


def _place(whole: Whole) -> dict[Item, object]:
    place, branch = whole.place, whole.place.branch
    five = place.zip_code[:5]
    return {
        Item.CUSTOMER_NAME: place.customer.name,
        Item.CUSTOMER_ADDRESS: place.customer.billing_address,
        Item.SERVICE_ADDRESS: place.street,
        Item.ZIP_CODE: len(five) == 5 and five.isascii() and five.isdigit(),
        Item.MUNICIPALITY: place.city,
        Item.COUNTY: place.county,
        Item.BUSINESS_LICENSE: branch.business_license_number,
        Item.BUSINESS_ADDRESS: branch.street and branch.city,
    }


def _product(whole: Whole) -> dict[Item, object]:
    if whole.use is None:
        return {}
    label = whole.use.label_version
    ingredients, amount = label.product.ingredients.all(), whole.product_amount
    return {
        Item.PRODUCT_NAME: label.product.name,
        Item.REGISTRATION_NUMBER: label.product.registration_number,
        Item.ACTIVE_INGREDIENT: ingredients,
        Item.PERCENT_ACTIVE: percent_applied(whole),
        Item.PRODUCT_AMOUNT: amount,
        Item.ACTIVE_AMOUNT: amount and ingredients,
        Item.FINISHED_AMOUNT: whole.finished_amount,
        Item.DILUTION: amount and whole.finished_amount,
        Item.APPLICATION_RATE: amount and (whole.area_mm2 or whole.length_mm),
        Item.AREA_TREATED: whole.area_mm2 or whole.length_mm or _is_counted(whole),
        Item.REENTRY: label.reentry_text,
    }


def _is_counted(whole: Whole) -> bool:
    return any(part.size.unit for part in whole.parts)


def _people(whole: Whole) -> dict[Item, object]:
    """A certified applicator is in charge of their own work; the others need one in force."""
    is_certified = _is_certified(whole)
    return {
        Item.APPLICATOR_NAME: whole.applicator.full_name,
        Item.APPLICATOR_LICENSE: whole.license,
        Item.SUPERVISOR: is_certified or whole.supervisor_license,
    }


def percent_applied(whole: Whole) -> Decimal | None:
    """Percent active ingredient as applied; None where an amount or a strength is not known.

    Of a mix pounds of ingredient in pounds of spray, which is taken to weigh as much as water
    (8.34 lb/gal, US Army subcourse MD0173, p. 43, read); unmixed it is that of the product.
    """
    use, amount, finished = whole.use, whole.product_amount, whole.finished_amount
    if use is None or amount is None:
        return None
    percent = percent_active(use)
    if finished is None:
        return percent
    pounds = active_ingredient_lb(amount, lb_ai_per_gal=pounds_per_gallon(use), percent=percent)
    spray = finished.to("gal").value * LB_WATER_PER_GAL
    return pounds * 100 / spray if pounds is not None and spray else None


def customer_phone(whole: Whole, followed: Followed) -> str:
    """A telephone number of the customer, looked up only where a rule asks for one."""
    if Item.CUSTOMER_PHONE not in wanted(followed.profiles, followed.job):
        return ""
    contacts = contacts_of(whole.place.customer_id)
    return next((one.phone for one in contacts if one.phone), "")
