"""How much of a surface may be treated, where a label limits it.

A fifth of a surface is common practice; no federal text that says so was found, so it holds only
where a label has the row.
"""

from __future__ import annotations

from decimal import ROUND_DOWN, Decimal

from sites.rules.units import group, plain
from treatments.rules.label_checks.facts import Judgement, LabelLimit, ProposedUse, ZoneUse
from treatments.rules.products import Severity

HUNDREDTH = Decimal("0.01")


def surface_share(row: LabelLimit, clause: str, use: ProposedUse) -> list[Judgement]:
    """Each zone: treated area, with what this visit treated of it before, against its surface.

    Before mixing a whole zone is planned and nobody knows yet how much of it gets product: the
    answer says how many square feet may.
    """
    return [_zone(zone, row, clause, use) for zone in use.zones]


def _zone(zone: ZoneUse, row: LabelLimit, clause: str, use: ProposedUse) -> Judgement:
    limit = row.limit or Decimal(0)
    whole = zone.whole.to("ft2").value if zone.whole else Decimal(0)
    if not whole:
        sentence = f"{zone.name}: its surface is not measured; at most {plain(limit)} % of it."
        return Judgement(row.fact, Severity.WARN, sentence, clause, "Measure it before mixing.")
    treated = _treated(zone)
    # compared without dividing: equal passes
    if treated * 100 <= limit * whole:
        said = f"{zone.name}: {_percent(treated, whole)} % of its surface, most {plain(limit)} %"
        return Judgement(row.fact, Severity.NOTE, said, clause)
    if zone.area.to("ft2").value * 100 <= limit * whole:
        said = f"{zone.name}: {_percent(treated, whole)} % of its surface at this visit, most"
        to_do = "Two loads beside each other add up; one on the other they count once."
        return Judgement(row.fact, Severity.WARN, f"{said} {plain(limit)} %.", clause, to_do)
    may = (whole * limit / 100).quantize(HUNDREDTH, ROUND_DOWN)
    to_do = f"Treat no more than {group(may)} sq ft of {zone.name}."
    if not use.is_over:
        sentence = f"{zone.name}: at most {plain(limit)} % of its {group(whole)} sq ft."
        return Judgement(row.fact, Severity.WARN, sentence, clause, to_do)
    sentence = f"{zone.name}: {_percent(treated, whole)} % of its surface, most {plain(limit)} %."
    return Judgement(row.fact, row.severity, sentence, clause, to_do)


def _treated(zone: ZoneUse) -> Decimal:
    before = zone.treated_before.to("ft2").value if zone.treated_before else Decimal(0)
    return zone.area.to("ft2").value + before


def _percent(treated: Decimal, whole: Decimal) -> str:
    return group((treated * 100 / whole).quantize(HUNDREDTH))
