"""What was put out before at the visit a use belongs to: loads of one application."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace
from decimal import Decimal
from itertools import groupby
from typing import TYPE_CHECKING

from sites.rules.units import Amount, canonical
from sites.selectors.properties import zone_measure
from treatments.models import ApplicationJudgement, ApplicationRecord, LabelUse
from treatments.rules.applications import Entered, TreatedSize
from treatments.rules.label_checks import ProposedUse, VisitUse, visits
from treatments.rules.label_checks.amounts import AWAITED
from treatments.rules.mix_rests import SoFar
from treatments.rules.products import RateBasis, Severity
from treatments.rules.rates import BASIS_KINDS, IN_SPRAY
from treatments.selectors.every_record import WITHOUT_EFFECT
from treatments.selectors.past_uses import PastUse, of_product

if TYPE_CHECKING:
    from treatments.selectors.whole import Setting


def of_visit(setting: Setting, use: LabelUse, uses: Collection[PastUse]) -> list[PastUse]:
    """The uses of the direction's product on the day of the setting at its visit, if it has one."""
    return [
        one
        for one in of_product(use, uses)
        if one.visit_ref and (one.visit_ref, one.on) == (setting.visit_ref, setting.on)
    ]


def with_visit(
    proposed: ProposedUse, setting: Setting, use: LabelUse, uses: Collection[PastUse]
) -> ProposedUse:
    """The use with what was put out before at its visit, zone by zone as its rate counts."""
    before = of_visit(setting, use, uses)
    if not before:
        return proposed
    kind = _kind(use)
    measures = {part.zone.pk: zone_measure(part.zone) for part in setting.parts}
    wholes = {zone: one.area if kind == "area" else one.size for zone, one in measures.items()}
    return replace(
        proposed,
        this_visit=tuple(_visit_use(rows, use) for rows in _by_record(before)),
        sizes={part.zone.pk: _of_part(part.size, kind) for part in setting.parts},
        wholes={zone: _whole_number(one, kind) for zone, one in wholes.items()},
    )


def so_far(asked: ProposedUse) -> SoFar | None:
    """What the visit put on the zones by this direction; None when it put nothing there."""
    alike = [one for one in visits.beside(asked) if one.is_same_direction]
    if not alike:
        return None
    return SoFar(visits.put_here(asked, alike), visits.sprayed_here(asked, alike))


def awaiting(visit_ref: str) -> list[ApplicationRecord]:
    """The records of a visit under a least of their label that no later load follows; two queries.

    Corrected and voided records wait for nothing.
    """
    said = ApplicationJudgement.objects.filter(
        record__visit_ref=visit_ref,
        code__in=("rate", "volume"),
        severity=Severity.NOTE,
        sentence__endswith=AWAITED,
    ).exclude(record__later_entries__entry__in=WITHOUT_EFFECT)
    found = {one.record_id: one.record for one in said.select_related("record")}
    if not found:
        return []
    rows = ApplicationRecord.objects.filter(visit_ref=visit_ref)
    last: dict[int | None, int] = dict(rows.order_by("pk").values_list("label_use_id", "pk"))
    return [record for pk, record in found.items() if last[record.label_use_id] == pk]


def _kind(use: LabelUse) -> str:
    basis = RateBasis(use.rate_basis)
    return "area" if basis in IN_SPRAY else BASIS_KINDS[basis]


def _by_record(uses: Iterable[PastUse]) -> list[list[PastUse]]:
    def record(one: PastUse) -> int:
        return one.record_id

    return [list(rows) for _, rows in groupby(sorted(uses, key=record), key=record)]


def _visit_use(rows: list[PastUse], use: LabelUse) -> VisitUse:
    kind, first = _kind(use), rows[0]
    return VisitUse(
        product=first.product,
        finished=first.finished,
        sizes={one.zone_id: _of_past(one, kind) for one in rows},
        is_same_direction=first.label_use_id == use.pk,
    )


def _of_past(one: PastUse, kind: str) -> int:
    if kind == "area":
        return one.zone_mm2
    return _entered(one.size, kind) if one.size else 0


def _of_part(size: TreatedSize, kind: str) -> int:
    return size.area_mm2 if kind == "area" else _entered(Entered(size.size, size.unit), kind)


def _entered(size: Entered, kind: str) -> int:
    return _whole_number(Amount(Decimal(size.text), size.unit), kind)


def _whole_number(size: Amount, kind: str) -> int:
    return canonical(size.value, size.unit) if size.kind == kind else 0
