"""The drawings beside a report: liquid, dry, each with a wide and a narrow form."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from django.utils.safestring import SafeString, mark_safe

from sites.rules.units import group
from treatments.reports.bar_chart import Bar, bar_chart
from treatments.reports.use_tables import Units, bars_of
from treatments.rules.totals import AXIS_WORDS
from treatments.rules.totals_ingredients import in_unit, rounded
from treatments.selectors.use_papers import Gathered

WIDE, NARROW = 860, 340


@dataclass(frozen=True)
class Chart:
    """One drawing in two widths under its title."""

    title: str
    wide: SafeString
    narrow: SafeString


def charts_of(found: Gathered) -> list[Chart]:
    """Undiluted liquid and dry product, by the first axis or by product."""
    units = found.units
    by = AXIS_WORDS[found.axes[0]] if found.axes else "Product"
    by = by if by.isupper() else by.lower()
    rows = bars_of(found.cells, found.axes)
    liquid = [(word, Fraction(tally.ul)) for word, tally in rows if tally.by_volume]
    dry = [(word, Fraction(tally.mg)) for word, tally in rows if tally.by_mass]
    drawn = (
        _chart(f"Liquid, by {by}", liquid, units.volume, units, "liquid"),
        _chart(f"Dry, by {by}", dry, units.mass, units, "dry"),
    )
    return [chart for chart in drawn if chart is not None]


def _chart(
    title: str, rows: list[tuple[str, Fraction]], unit: str, units: Units, uid: str
) -> Chart | None:
    if not rows:
        return None
    bars = [Bar(word, value, _words(value, unit, units)) for word, value in rows]
    return Chart(
        title,
        mark_safe(bar_chart(title, bars, width=WIDE, uid=f"{uid}-wide")),
        mark_safe(bar_chart(title, bars, width=NARROW, uid=f"{uid}-narrow")),
    )


def _words(value: Fraction, unit: str, units: Units) -> str:
    return f"{group(rounded(in_unit(value, unit), units.places), units.places)} {unit}"
