"""Writing pests."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import IntegrityError, transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.lines import line, one_of
from accounts.services.audit import note_event
from sites.models import Pest
from sites.rules.places import PEST_GROUP_WORDS

if TYPE_CHECKING:
    from accounts.models import Person


def register_pest(
    *,
    common_name: str,
    group: str,
    by: Person | None,
    scientific_name: str = "",
    kind: str = Pest.Kind.TARGET,
) -> Pest:
    """Enter a pest and the group its windows are kept for.

    Refused: a name that is there already, an unknown group or kind.
    """
    require(by, Permission.EDIT_LABELS)
    pest = Pest(
        common_name=line(common_name, field="common_name", label="Common name", most=80),
        scientific_name=line(
            scientific_name, field="scientific_name", label="Name", most=120, needed=False
        ),
        group=one_of(group, list(PEST_GROUP_WORDS), field="group", label="Group"),
        kind=one_of(kind, Pest.Kind.values, field="kind", label="Kind"),
        created_by=by,
    )
    _refuse_known(pest.common_name)
    with transaction.atomic():
        _save(pest)
        note_event(by=by, act="pest_registered", thing=pest)
    return pest


def _refuse_known(common_name: str) -> None:
    """Label files name pests without looking at capitals, so a name stands once however written."""
    if Pest.objects.filter(common_name__iexact=common_name).exists():
        raise _known(common_name)


def _save(pest: Pest) -> None:
    try:
        with transaction.atomic():
            pest.save()
    except IntegrityError as failure:
        raise _known(pest.common_name) from failure


def _known(common_name: str) -> Refused:
    sentence = f"{common_name} is on the list already."
    return Refused("pest_exists", sentence, field="common_name")
