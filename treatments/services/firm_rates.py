"""Choosing which rate of a direction is proposed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import note_event
from treatments.models import FirmRate, LabelUse
from treatments.rules.rate_choices import FIRM_RATE_WORDS, rate_choices

if TYPE_CHECKING:
    from accounts.models import Person


@transaction.atomic
def choose_firm_rate(*, label_use_id: int, choice: str, by: Person | None) -> FirmRate:
    """Propose the low or the middle rate of a direction on every mix from now on.

    Allowed for a used label too: it is the firm's choice, not the label's. Refused: a direction
    that is not there, a rate it does not offer.
    """
    require(by, Permission.EDIT_LABELS)
    use = LabelUse.objects.filter(pk=label_use_id).first()
    if use is None:
        raise Refused("direction", "There is no such direction.")
    offered = [one.value for one in rate_choices(use.rate_min, use.rate_max)]
    if choice not in FIRM_RATE_WORDS or choice not in offered:
        sentence = "This direction has one rate only: nothing else can be proposed."
        raise Refused("rate", sentence, field="choice")
    row, _ = FirmRate.objects.update_or_create(
        label_use=use, defaults={"choice": choice, "created_by": by}
    )
    note_event(by=by, act="choose_firm_rate", thing=use, choice=choice)
    return row
