"""Planning a mix for a part of a zone, and the part that a label's surface limit allows."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from decimal import ROUND_DOWN, Decimal
from typing import TYPE_CHECKING

from scheduling.selectors.mix_pages import MixPage
from sites.rules.units import plain
from treatments.rules.applications import Entered
from treatments.rules.label_checks import Judgement
from treatments.rules.products import LimitFact, Severity
from treatments.selectors.label_facts import label_facts

if TYPE_CHECKING:
    from treatments.models import LabelUse

HUNDREDTH = Decimal("0.01")


def planned_sizes(page: MixPage) -> dict[int, Entered]:
    """The parts that are planned, of the chosen zones that may be treated in part."""
    typed = dict(page.choice.parts)
    return {
        zone.pk: Entered(typed[zone.pk], zone.part_unit)
        for zone in page.zones
        if zone.is_chosen and zone.part_unit and typed.get(zone.pk, "").strip()
    }


def within_label(page: MixPage, use: LabelUse, checks: Iterable[Judgement]) -> str:
    """The same choice for the part of each zone that a label's surface limit allows.

    Empty where no label limits it or what is planned keeps the limit.
    """
    heeded = [one for one in checks if one.severity != Severity.NOTE]
    rows = [row for row in label_facts(use).limits if row.fact == LimitFact.SURFACE_SHARE]
    limits = [row.limit for row in rows if row.limit]
    if not limits or all(one.code != LimitFact.SURFACE_SHARE for one in heeded):
        return ""
    parts = tuple(
        (zone.pk, plain(allowed_part(zone.part_whole, min(limits))))
        for zone in page.zones
        if zone.is_chosen and zone.part_unit
    )
    return replace(page.choice, parts=parts).query if parts else ""


def allowed_part(whole: Decimal, percent: Decimal) -> Decimal:
    """A share of a zone in its own unit, rounded down so that the limit is kept."""
    return (whole * percent / 100).quantize(HUNDREDTH, ROUND_DOWN)
