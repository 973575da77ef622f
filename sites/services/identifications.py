"""Recording an identification: evidence that is added to and never changed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

from django.db import IntegrityError, transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.lines import line, one_of
from accounts.services.audit import note_event, open_item
from sites.models import Identification, Property
from sites.rules.identification.entries import NewIdentification, digest_of, photo_names
from sites.rules.identification.key import Key
from sites.rules.identification.ranking import (
    Seen,
    Standing,
    ranked,
    read_answers,
    refuse_decision,
)
from sites.rules.identification.words import CONFIDENCE_WORDS, referral
from sites.selectors.identification_key import taxon_by_code, whole_key
from sites.selectors.properties import property_for, zones_of
from sites.services.photos import ReadPhotos, Uploaded, keep_photos, read_photos

if TYPE_CHECKING:
    from accounts.models import Person

KEPT_CANDIDATES = 8
WOOD_CODE = "wood_destroying_finding"


def identify_at_property(
    *,
    property_id: int,
    identification: NewIdentification,
    by: Person,
    now: datetime,
    photos: Sequence[Uploaded] = (),
) -> Identification:
    """Record an identification at a property the person may see.

    Refused as in `record_identification`; a property out of reach is Http404.
    """
    require(by, Permission.EDIT_PROPERTIES)
    place = property_for(by, property_id)
    return record_identification(
        place=place, identification=identification, by=by, now=now, photos=photos
    )


def identify_at_stop(
    *,
    place: Property,
    identification: NewIdentification,
    by: Person,
    now: datetime,
    photos: Sequence[Uploaded] = (),
) -> Identification:
    """Record an identification at a property that the caller has authorized by its stop."""
    require(by, Permission.WORK_STOPS)
    return record_identification(
        place=place, identification=identification, by=by, now=now, photos=photos
    )


def record_identification(
    *,
    place: Property,
    identification: NewIdentification,
    by: Person,
    now: datetime,
    photos: Sequence[Uploaded] = (),
) -> Identification:
    """Keep what was seen, the ranking it gave, the decision, how sure it is, and its photos.

    The same sending again is answered with the first row. Refused: no trait seen, an answer that
    the key does not hold, a taxon ruled out by legs or wings, a zone of another property, a
    reference that names another identification, a photo that is none.
    """
    read = read_photos(photos)
    try:
        with transaction.atomic():
            first = _replayed(identification, place)
            return first or _stored(identification, place, by, now, read)
    except IntegrityError:
        # the same sending at the same moment: the other one was first
        first = _replayed(identification, place)
        if first is None:
            raise
        return first


def _replayed(new: NewIdentification, place: Property) -> Identification | None:
    row = Identification.objects.filter(client_ref=new.client_ref).first()
    if row is not None and row.client_digest != digest_of(new, place.pk):
        raise Refused(
            "reused_reference", "This form was sent before with other words. Open it again."
        )
    return row


def _stored(
    new: NewIdentification, place: Property, by: Person, now: datetime, photos: ReadPhotos
) -> Identification:
    key = whole_key()
    seen, strange = read_answers(key, new.answers)
    if strange:
        raise Refused("unknown_traits", "The key has changed. Go back to it and answer once more.")
    rows = ranked(key, seen)
    refuse_decision(key, rows, seen, new.taxon)
    taxon = taxon_by_code(new.taxon) if new.taxon else None
    row = Identification.objects.create(
        client_ref=new.client_ref,
        client_digest=digest_of(new, place.pk),
        property=place,
        zone_id=_zone(new.zone_id, place),
        taxon=taxon,
        name=taxon.common_name if taxon else "",
        advice=taxon.advice if taxon else [],
        seen=_seen(key, seen),
        ranking=_ranking(key, rows, seen, new.taxon),
        specimen_kept=new.specimen_kept,
        photo_ref=photo_names(one.pk for one in keep_photos(photos, place=place, by=by)),
        visit_ref=new.visit_ref,
        at=now,
        by=by,
        **_typed(new),
    )
    note_event(by=by, act="pest_identified", thing=row, now=now, name=str(row))
    _open_referral(row, place)
    return row


def _typed(new: NewIdentification) -> dict[str, str]:
    lines = (("found_where", "Found where", 120), ("note", "Note", 400))
    typed = {
        field: line(getattr(new, field), field=field, label=label, most=most, needed=False)
        for field, label, most in lines
    }
    sure = one_of(
        new.confidence, list(CONFIDENCE_WORDS), field="confidence", label="How sure you are"
    )
    return typed | {"confidence": sure}


def _zone(zone_id: int | None, place: Property) -> int | None:
    if zone_id is not None and not zones_of(place.pk).filter(pk=zone_id).exists():
        raise Refused("zone", "This zone is not one of this property.", field="zone")
    return zone_id


def _seen(key: Key, seen: Seen) -> list[dict[str, Any]]:
    return [
        {
            "trait": code,
            "name": trait.name,
            "values": [words for value, words in trait.values.items() if value in seen[code]],
        }
        for code, trait in key.traits.items()
        if code in seen
    ]


def _ranking(key: Key, rows: Sequence[Standing], seen: Seen, chosen: str) -> list[dict[str, Any]]:
    """The best candidates, and the chosen one wherever it stood; nothing for it: left out."""
    best = [row for row in rows if row.speaks_for and not row.is_excluded][:KEPT_CANDIDATES]
    also = [row for row in rows if row.taxon.code == chosen and row not in best]
    return [_candidate(key, row, seen) for row in (*best, *also)]


def _candidate(key: Key, row: Standing, seen: Seen) -> dict[str, Any]:
    return {
        "code": row.taxon.code,
        "name": row.taxon.common_name,
        "for": _words(key, row.speaks_for, seen),
        "against": _words(key, row.against, seen),
        "excluded": row.is_excluded,
    }


def _words(key: Key, codes: Sequence[str], seen: Seen) -> list[str]:
    return [
        " or ".join(
            words for value, words in key.traits[code].values.items() if value in seen[code]
        )
        for code in codes
    ]


def _open_referral(row: Identification, place: Property) -> None:
    """A wood-destroying finding waits for somebody who may report it."""
    sentence = referral(row.advice)
    if sentence:
        open_item(
            branch_id=place.branch_id,
            code=WOOD_CODE,
            thing=row,
            sentence=f"{row.name} at {place}. {sentence}",
        )
