"""The rules of the states over the entries of a record: the versions it froze, what it lacks."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from accounts.refusals import Refused
from treatments.models import ApplicationRecord
from treatments.rules.profile_words import Item
from treatments.rules.profiles import Asking, gaps
from treatments.selectors.entries import facts_of, gaps_in
from treatments.selectors.entry_whole import entry_whole
from treatments.selectors.notices import personal
from treatments.selectors.profile_jobs import NOTHING, Followed, followed_of
from treatments.selectors.profiles import profiles_named, profiles_of
from treatments.selectors.rule_gaps import asking_words
from treatments.selectors.whole import Whole

# the field of an entry that answers an item; what is not here is no field of an addendum
FIELDS_OF: Mapping[Item, tuple[str, ...]] = {
    Item.CUSTOMER_PHONE: ("customer_phone",),
    Item.LOCATION_DETAIL: ("location_detail",),
    Item.PERCENT_ACTIVE: ("product_amount", "finished_amount"),
    Item.PRODUCT_AMOUNT: ("product_amount",),
    Item.ACTIVE_AMOUNT: ("product_amount",),
    Item.FINISHED_AMOUNT: ("finished_amount",),
    Item.DILUTION: ("product_amount", "finished_amount"),
    Item.APPLICATION_RATE: ("product_amount",),
    Item.TARGET_PEST: ("pests",),
    Item.METHOD_EQUIPMENT: ("equipment",),
    Item.PARTICIPANTS: ("participants",),
    Item.WIND_SPEED: ("wind_mph",),
    Item.WIND_DIRECTION: ("wind_direction",),
    Item.AIR_TEMPERATURE: ("temperature_f",),
    Item.CONDITIONS: ("conditions",),
    Item.MIXING_LOCATION: ("mixing_location",),
    Item.PRODUCT_SUPPLIER: ("product_supplier",),
}


@dataclass(frozen=True)
class Missing:
    """What one rule misses in a record, and the fields that would fill it (none: no field here)."""

    words: str
    source: str
    fields: frozenset[str]


@dataclass(frozen=True)
class GapsToFill:
    """The empty fields of a record, what rules ask for first, and what no field here answers.

    `asked` is field and the rules that ask for it, in words.
    """

    fields: tuple[str, ...]
    asked: Mapping[str, str]
    elsewhere: tuple[str, ...]

    @property
    def sentence(self) -> str:
        said = "What has a value already is not here: ask for a correction of it."
        if not self.elsewhere:
            return said
        return f"{said} Missing, and no field here: {'; '.join(self.elsewhere)}."


def followed_by_entry(
    before: ApplicationRecord, whole: Whole, changed: Collection[str]
) -> Followed:
    """The rules of an entry: the versions its record froze, asked of the job as it is now.

    Another direction or another day is another job, whose rules are resolved; a rule that was
    followed on that day stays in the version that was frozen.
    """
    if whole.use is None:
        return NOTHING
    is_mixed = whole.finished_amount is not None
    is_same_day = whole.on == before.applied_on
    if is_same_day and "direction" not in changed:
        job = followed_of(whole, whole.use, (), is_mixed=is_mixed).job
        return Followed(profiles_named(before.profile_codes), job)
    every = profiles_of(whole.place.state)
    if is_same_day:
        frozen = {name.rpartition("/")[0] for name in before.profile_codes}
        names = before.profile_codes
        every = tuple(one for one in every if one.code not in frozen or one.name in names)
    return followed_of(whole, whole.use, every, is_mixed=is_mixed)


def given_of(record: ApplicationRecord, said: Mapping[str, str]) -> frozenset[Item]:
    """The items of an entry that are filled, by its own columns and personal values.

    What property, branch and license say today is no part of it.
    """
    filled = {**_when_and_how(record), **_whom_and_where(record, said), **_product(record)}
    return frozenset(item for item, value in filled.items() if value)


def _when_and_how(record: ApplicationRecord) -> dict[Item, object]:
    return {
        Item.APPLICATION_DATE: True,
        Item.START_TIME: True,
        Item.END_TIME: True,
        Item.SITE_TREATED: True,  # no entry is without a zone
        Item.TARGET_PEST: record.pests,
        Item.METHOD_EQUIPMENT: record.method and record.equipment,
        Item.WIND_SPEED: record.wind_mph,
        Item.WIND_DIRECTION: record.wind_direction,
        Item.AIR_TEMPERATURE: record.temperature_f,
        Item.CONDITIONS: record.conditions,
        Item.PRODUCT_SUPPLIER: record.product_supplier,
        Item.APPLICATOR_LICENSE: record.license_number,
        Item.SUPERVISOR: record.license_kind == "certified" or record.supervisor_license_number,
    }


def _whom_and_where(record: ApplicationRecord, said: Mapping[str, str]) -> dict[Item, object]:
    five = record.zip_code[:5]
    names = {
        Item.CUSTOMER_NAME: "customer_name",
        Item.CUSTOMER_ADDRESS: "billing_address",
        Item.CUSTOMER_PHONE: "customer_phone",
        Item.SERVICE_ADDRESS: "street",
        Item.APPLICATOR_NAME: "applicator_name",
        Item.PARTICIPANTS: "participants",
        Item.MIXING_LOCATION: "mixing_location",
        Item.LOCATION_DETAIL: "location_detail",
    }
    return {
        **{item: said.get(name, "") for item, name in names.items()},
        Item.ZIP_CODE: len(five) == 5 and five.isascii() and five.isdigit(),
        Item.MUNICIPALITY: record.city,
        Item.COUNTY: record.county,
        Item.BUSINESS_LICENSE: record.business_license_number,
        Item.BUSINESS_ADDRESS: record.business_address,
    }


def _product(record: ApplicationRecord) -> dict[Item, object]:
    amount, ingredients = record.product_amount, record.ingredients
    return {
        Item.PRODUCT_NAME: record.product_name,
        Item.REGISTRATION_NUMBER: record.registration_number,
        Item.ACTIVE_INGREDIENT: ingredients,
        Item.PERCENT_ACTIVE: record.percent_active,
        Item.PRODUCT_AMOUNT: amount,
        Item.ACTIVE_AMOUNT: amount and ingredients,
        Item.FINISHED_AMOUNT: record.finished_amount,
        Item.DILUTION: amount and record.finished_amount,
        Item.APPLICATION_RATE: amount and (record.area_mm2 or record.length_mm),
        Item.AREA_TREATED: record.product_name,  # each zone of an entry has its size
        Item.REENTRY: record.reentry_text,
    }


def missing_in(record: ApplicationRecord) -> tuple[Missing, ...]:
    """What the rules of a record miss in it, as its page and its form say it.

    Nothing where the record names what is not there any more: then nobody can judge it again.
    """
    try:
        whole = entry_whole(record, facts_of(record), record.property)
    except Refused:
        return ()
    followed = followed_by_entry(record, whole, ())
    given = given_of(record, personal(record))
    found = gaps(followed.profiles, followed.job, given)
    return tuple(_missing(one, gap.profile.source) for gap in found for one in gap.askings)


def _missing(asking: Asking, source: str) -> Missing:
    fields = {name for item in asking.items for name in FIELDS_OF.get(item, ())}
    return Missing(asking_words(asking), source, frozenset(fields))


def gaps_to_fill(record: ApplicationRecord) -> GapsToFill:
    """What an addendum may fill in a record, and which rule misses what."""
    empty, missing = gaps_in(facts_of(record)), missing_in(record)
    sources = {
        name: [one.source for one in missing if name in one.fields]
        for name in empty
        if any(name in one.fields for one in missing)
    }
    elsewhere = [f"{one.words} ({one.source})" for one in missing if not one.fields & set(empty)]
    return GapsToFill(
        fields=(*sources, *(name for name in empty if name not in sources)),
        asked={name: "; ".join(dict.fromkeys(found)) for name, found in sources.items()},
        elsewhere=tuple(dict.fromkeys(elsewhere)),
    )
