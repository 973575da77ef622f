"""Sightings: told by who works at the property, answered by the firm, never changed."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.lines import line, paragraph
from accounts.selectors.pages import local_day
from accounts.services.audit import close_items, name_of, note_event, open_item
from sites.models import Sighting, SightingAnswer, SightingReporter
from sites.rules.sightings import HOW_MANY_WORDS, HowMany, NewSighting, Way, checked
from sites.selectors.logbook import sighting_for
from sites.services.locks import lock_property

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import Property

SIGHTING = "sighting"


@dataclass(frozen=True)
class Told:
    """A sighting, and whether the same form had told it before."""

    sighting: Sighting
    is_again: bool


@transaction.atomic
def tell_sighting(*, place: Property, new: NewSighting, way: Way, who: str, now: datetime) -> Told:
    """Store a sighting once a form and open an item for the office.

    The caller has looked who may: a link or code that lasts. `who` names in the audit trail
    whoever told it, who has no account. Refused as in `checked`.
    """
    entered = checked(new, local_day(place.branch.time_zone, now))
    lock_property(place.pk)
    before = Sighting.objects.filter(property=place, once=new.once).first()
    if before is not None:
        return Told(before, is_again=True)
    made = _stored(place, entered, way, now)
    note_event(by=who, act="sighting_told", thing=made, now=now, way=way.value)
    open_item(branch_id=place.branch_id, code=SIGHTING, thing=made, sentence=_sentence(made))
    return Told(made, is_again=False)


def _stored(place: Property, entered: NewSighting, way: Way, now: datetime) -> Sighting:
    made = Sighting.objects.create(
        property=place,
        what=entered.what,
        spot=entered.spot,
        seen_on=entered.seen_on,
        seen_at=entered.seen_at,
        how_many=entered.how_many,
        way=way,
        once=entered.once,
        created_at=now,
    )
    if entered.name:
        SightingReporter.objects.create(sighting=made, name=entered.name)
    return made


def _sentence(made: Sighting) -> str:
    many = HOW_MANY_WORDS[HowMany(made.how_many)].lower()
    seen = f"{made.what} ({many}), {made.spot}"
    return f"Seen at {made.property}: {seen}. Say what was done about it."


@transaction.atomic
def answer_sighting(
    *,
    sighting_id: int,
    note: str,
    done_in: str,
    done_in_words: str,
    within_reach: Collection[int],
    by: Person,
    now: datetime,
) -> SightingAnswer:
    """Say what was done about a sighting and close its item; another answer may follow.

    `done_in` names a visit or record of the property that the caller has looked up, with its
    words. Refused: no note.
    """
    require(by, Permission.ANSWER_SIGHTINGS)
    sighting = sighting_for(by, sighting_id, within_reach)
    words = paragraph(note, field="note", label="What was done", most=1000)
    if not words:
        raise Refused("missing", "Say what was done about it.", field="note")
    made = SightingAnswer.objects.create(
        sighting=sighting,
        note=words,
        done_in=done_in,
        done_in_words=line(done_in_words, field="done_in", label="Visit or record", most=200),
        created_at=now,
        created_by=by,
    )
    close_items(code=SIGHTING, thing=sighting, note=f"Answered by {by.full_name}.", now=now)
    note_event(by=by, act="sighting_answered", thing=sighting, now=now, answer=name_of(made))
    return made
