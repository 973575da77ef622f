"""Animals of the key and what was identified, made straight through the tables."""

from __future__ import annotations

import uuid
from typing import Any

from accounts.models import Person
from sites.models import Identification, Property, Taxon


def make_taxon(code: str = "", **fields: Any) -> Taxon:
    """An animal of the key that shows nothing yet."""
    code = code or f"own_{uuid.uuid4().hex[:8]}"
    return Taxon.objects.create(**{"code": code, "common_name": code, "kind": "target"} | fields)


def make_identification(place: Property, by: Person, **fields: Any) -> Identification:
    """What somebody took for an invented animal at a property."""
    return Identification.objects.create(
        **{
            "client_ref": uuid.uuid4(),
            "client_digest": "0" * 64,
            "property": place,
            "taxon": fields.get("taxon") or make_taxon(),
            "name": "Invented animal",
            "confidence": "likely",
            "seen": [],
            "ranking": [],
            "by": by,
        }
        | fields
    )
