"""Sightings as the office and the technician at the stop read them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from accounts.selectors.pages import local_today
from scheduling.selectors.site_logbook import done_in_choices
from scheduling.selectors.site_logbook_lists import answer_words
from scheduling.selectors.visits import properties_within_reach
from sites.rules.sightings import WAY_WORDS, Way
from sites.selectors.logbook import sighting_for, unanswered_at

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import Sighting


@dataclass(frozen=True)
class SightingPage:
    """One sighting, who told it and how, its answers, and what an answer may name."""

    sighting: Sighting
    told_by: str
    told: str
    answers: tuple[str, ...]
    named: tuple[tuple[str, str], ...]
    within_reach: Collection[int]


def sighting_page(person: Person, pk: int, now: datetime) -> SightingPage:
    """One sighting the person may see; a technician those near their stops; otherwise Http404."""
    reach = properties_within_reach(person, local_today(person, now))
    sighting = sighting_for(person, pk, reach)
    zone = sighting.property.branch.time_zone
    answers = sighting.answers.select_related("created_by")
    reporter = getattr(sighting, "reporter", None)
    return SightingPage(
        sighting=sighting,
        told_by=reporter.name if reporter else "",
        told=WAY_WORDS[Way(sighting.way)],
        answers=tuple(answer_words(one, zone) for one in answers),
        named=tuple(done_in_choices(sighting.property, now)),
        within_reach=reach,
    )


def open_sightings(property_id: int) -> tuple[Sighting, ...]:
    """What was seen at a property and waits for an answer."""
    return tuple(unanswered_at([property_id]))
