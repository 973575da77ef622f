"""The box a record opens with: each item in the state's own order, given, missing or not asked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from treatments.rules.predicates import Job
from treatments.rules.profile_words import ITEM_WORDS, Item, Mark, Reach
from treatments.rules.profiles import Asking, Profile, asked

# Our own order where a rule's was not read (house rule): who, where, when, what, how, by whom,
# weather, after.
OUR_ORDER: tuple[Item, ...] = (
    Item.BUSINESS_LICENSE,
    Item.BUSINESS_ADDRESS,
    Item.CUSTOMER_NAME,
    Item.CUSTOMER_ADDRESS,
    Item.CUSTOMER_PHONE,
    Item.SERVICE_ADDRESS,
    Item.ZIP_CODE,
    Item.MUNICIPALITY,
    Item.COUNTY,
    Item.LOCATION_DETAIL,
    Item.APPLICATION_DATE,
    Item.START_TIME,
    Item.END_TIME,
    Item.PRODUCT_NAME,
    Item.REGISTRATION_NUMBER,
    Item.ACTIVE_INGREDIENT,
    Item.PRODUCT_AMOUNT,
    Item.ACTIVE_AMOUNT,
    Item.FINISHED_AMOUNT,
    Item.DILUTION,
    Item.PERCENT_ACTIVE,
    Item.APPLICATION_RATE,
    Item.AREA_TREATED,
    Item.SITE_TREATED,
    Item.TARGET_PEST,
    Item.METHOD_EQUIPMENT,
    Item.APPLICATOR_NAME,
    Item.APPLICATOR_LICENSE,
    Item.SUPERVISOR,
    Item.PARTICIPANTS,
    Item.WIND_SPEED,
    Item.WIND_DIRECTION,
    Item.AIR_TEMPERATURE,
    Item.CONDITIONS,
    Item.REENTRY,
    Item.MIXING_LOCATION,
    Item.PRODUCT_SUPPLIER,
    Item.SIGNATURE,
)
BOX_WORDS: Mapping[Item, str] = {
    Item.DILUTION: "Mix ratio",
    Item.PERCENT_ACTIVE: "Percent active in the finished spray",
    Item.SUPERVISOR: "Supervisor and category",
}


class Standing(StrEnum):
    """Whether an item is there, and whether a rule asks for it."""

    GIVEN = "given"
    MISSING = "missing"
    UNSURE = "missing, by a rule that is not verified"
    OTHER_WAY = "given another way"
    NONE = "none"
    NOT_ASKED = "not asked here"


@dataclass(frozen=True)
class BoxLine:
    """One item: its name, its value (empty unless given) and how it stands."""

    name: str
    value: str
    standing: Standing

    @property
    def words(self) -> str:
        """The value, else why there is none; where a rule is not met, that and what is known."""
        if self.is_missing and self.value:
            return f"{self.standing.value}; {self.value}"
        return self.value or self.standing.value

    @property
    def is_missing(self) -> bool:
        return self.standing in (Standing.MISSING, Standing.UNSURE)


def box(
    values: Mapping[Item, str], profiles: Sequence[Profile], order: Iterable[str], job: Job
) -> tuple[BoxLine, ...]:
    """Every item once: those of `order` first, then the rest in our own order.

    `values` are what the record says, empty where nothing; `profiles` the rules it follows.
    """
    known = [Item(name) for name in order if name in list(Item)]
    given = frozenset(item for item, value in values.items() if value)
    askings = [one for one in asked(profiles, job) if one.mark != Mark.UNKNOWN]
    return tuple(
        BoxLine(
            BOX_WORDS.get(item, ITEM_WORDS[item]),
            values.get(item, ""),
            _standing(item, given, [one for one in askings if item in one.items]),
        )
        for item in dict.fromkeys((*known, *OUR_ORDER))
    )


def _standing(item: Item, given: frozenset[Item], askings: Sequence[Asking]) -> Standing:
    if item in given:
        return Standing.GIVEN
    unmet = [one for one in askings if not one.is_met(given)]
    if unmet:
        is_firm = any(one.is_firm for one in unmet)
        return Standing.MISSING if is_firm else Standing.UNSURE
    if not askings:
        return Standing.NOT_ASKED
    is_empty = any(one.mark == Mark.IF_ANY for one in askings)
    return Standing.NONE if is_empty else Standing.OTHER_WAY


def order_of(orders: Mapping[Reach, Sequence[str]]) -> Sequence[str]:
    """The order that holds: the state's own, else the federal one, else none."""
    return orders.get(Reach.STATE) or orders.get(Reach.FEDERAL) or ()
