"""What the rules of a stop's place ask of the record that is about to be made there."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from accounts.refusals import Refused
from scheduling.selectors.mix_pages import MixPage
from treatments.rules.products import LABEL_METHODS
from treatments.selectors.asked import AskedItems, asked_items
from treatments.selectors.checks import proposed_setting

if TYPE_CHECKING:
    from accounts.models import Person


def asked_of(page: MixPage, person: Person, today: date) -> AskedItems:
    """What is asked of the chosen zones, direction and method; nothing until they are chosen."""
    if page.answer is not None:
        known = page.answer.known.profiles
        return asked_items(page.answer.setting, is_mixed=page.takes_water, profiles=known)
    choice = page.choice
    if choice.use_id is None or not choice.zone_ids or choice.method not in LABEL_METHODS:
        return AskedItems()
    try:
        setting = proposed_setting(
            person,
            page.property_id,
            choice.zone_ids,
            choice.use_id,
            choice.method,
            choice.pest_ids,
            today,
            already=page.found.already,
        )
    except Refused:  # the record itself is refused with a sentence when it is sent
        return AskedItems()
    return asked_items(setting, is_mixed=page.takes_water)
