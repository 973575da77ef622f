"""Gathering one report of what was used: its tables, what is not in it, and what the log says."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from accounts.rules.day_words import clock, short_day
from accounts.selectors.people import branches_for
from treatments.reports.use_left_out import left_out
from treatments.reports.use_paper import UsePaper
from treatments.reports.use_tables import (
    METRIC,
    US,
    Units,
    annual_block,
    county_block,
    ingredients_block,
    mass_block,
    totals_block,
)
from treatments.rules.periods import standing, standing_words
from treatments.rules.totals import Axis, Cell, ordered, regrouped
from treatments.rules.totals_ingredients import Strengths
from treatments.rules.totals_log import (
    Reconciled,
    Scope,
    ledger_of_cells,
    reconcile,
    reconciled_words,
)
from treatments.rules.use_reports import ASKED_BY, FIXED_AXES, TITLES, Period, Report
from treatments.selectors.periods import closed_by_branch
from treatments.selectors.totals import (
    Amountless,
    leaves_to_read,
    ledger_of_log,
    strengths_of,
    totals_of,
    without_amount,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from accounts.models import Branch, Person

# 0.4 s on a busy machine (measured, 42 µs a leaf); beyond, somebody asks for it
LEAVES_FOR_A_PAGE = 10_000
MOST_NAMED = 20


@dataclass(frozen=True)
class Wanted:
    """Which report, of which days, narrowed to what; empty is everything."""

    report: Report
    period: Period
    axes: tuple[Axis, ...] = ()
    branch_id: int | None = None
    state: str = ""
    county: str = ""
    zip_code: str = ""
    product: str = ""
    applicator_id: int | None = None
    about: tuple[tuple[str, str], ...] = ()

    @property
    def used_axes(self) -> tuple[Axis, ...]:
        """The axes of this report."""
        return FIXED_AXES.get(self.report, self.axes)


@dataclass(frozen=True)
class Gathered:
    """A report ready to be shown: its paper, its cells for the chart, what the log said."""

    paper: UsePaper
    cells: tuple[Cell, ...]
    axes: tuple[Axis, ...]
    units: Units
    amountless: Sequence[Amountless]
    scope: Scope
    reconciled: Reconciled | None
    branches: dict[int, str]

    @property
    def only_branch(self) -> str:
        """The branch of the report; empty where there are several."""
        return next(iter(self.branches.values())) if len(self.branches) == 1 else ""


def gather(
    wanted: Wanted, person: Person | None, *, now: datetime, demo: bool, compare: bool | None
) -> Gathered:
    """Read a report of the person's branches.

    `compare`: with the log; None when its leaves can be read while a page is waited for.
    """
    branches = _branches(person, wanted.branch_id)
    scope = _scope(wanted, branches)
    totals = totals_of(scope, wanted.used_axes)
    cells = tuple(ordered(totals.cells, totals.periods))
    names = {branch.pk: branch.name for branch in branches}
    found = _reconciled(scope, cells, compare)
    products, named = _products(cells), _amountless(scope, cells)
    units = METRIC if wanted.report is Report.MASS else _units(branches)
    strengths = strengths_of({cell.product for cell in products})
    paper = UsePaper(
        **_tables(wanted, products, strengths, units),
        title=f"{TITLES[wanted.report]}, {wanted.period.word}",
        about=(
            ("Days", wanted.period.word),
            ("Period", _closed(wanted.period, names)),
            *wanted.about,
        ),
        left_out=left_out(cells, strengths, [one.pk for one in named]),
        reconciliation=reconciled_words(found, names),
        is_whole=found.is_whole if found else None,
        asked_by=ASKED_BY[wanted.report],
        firm="; ".join(_firm(branch) for branch in branches) or "No branch",
        as_of=f"{short_day(now.date(), True)}, {clock(now)}",
        is_demonstration=demo,
    )
    return Gathered(paper, products, wanted.used_axes, units, named, scope, found, names)


def _closed(period: Period, names: Mapping[int, str]) -> str:
    """Whether the days shown are closed, by branch where they differ."""
    through = closed_by_branch(names.keys())
    return standing_words(
        {
            name: (standing(period.since, period.until, through.get(pk)), through.get(pk))
            for pk, name in names.items()
        }
    )


def _reconciled(scope: Scope, cells: Sequence[Cell], compare: bool | None) -> Reconciled | None:
    if compare is None:
        compare = leaves_to_read(scope) <= LEAVES_FOR_A_PAGE
    return reconcile(ledger_of_cells(cells), ledger_of_log(scope)) if compare else None


def _amountless(scope: Scope, cells: Sequence[Cell]) -> list[Amountless]:
    """The first records without an amount, asked for only where the totals know of any."""
    has_gaps = any(cell.tally.without_amount for cell in cells if cell.product.name)
    return without_amount(scope, MOST_NAMED) if has_gaps else []


def _branches(person: Person | None, wanted: int | None) -> list[Branch]:
    rows = branches_for(person).order_by("name")
    return list(rows.filter(pk=wanted) if wanted else rows)


def _scope(wanted: Wanted, branches: Iterable[Branch]) -> Scope:
    return Scope(
        branches=frozenset(branch.pk for branch in branches),
        since=wanted.period.since,
        until=wanted.period.until,
        state=wanted.state,
        county=wanted.county,
        zip_code=wanted.zip_code,
        product=wanted.product,
        applicator_id=wanted.applicator_id,
    )


def _products(cells: Sequence[Cell]) -> tuple[Cell, ...]:
    """The cells of products, the branches of one group and product together."""
    return tuple(regrouped((cell for cell in cells if cell.product.name), lambda one: one.group))


def _units(branches: Sequence[Branch]) -> Units:
    """Metric where every branch is."""
    return METRIC if branches and all(one.units == "metric" for one in branches) else US


def _firm(branch: Branch) -> str:
    license_ = branch.business_license_number
    return f"{branch.name}, business license {license_}" if license_ else branch.name


def _tables(
    wanted: Wanted, cells: Sequence[Cell], strengths: Strengths, units: Units
) -> dict[str, Any]:
    """The tables of a report, the main one first."""
    axes = wanted.used_axes
    if wanted.report is Report.MASS:
        main = mass_block(cells, strengths)
    elif wanted.report is Report.ANNUAL:
        main = annual_block(cells, strengths, units)
        cells, axes = regrouped(cells, lambda _: ()), ()
    elif wanted.report is Report.COUNTY:
        main = county_block(cells, strengths, units)
    else:
        main = totals_block(cells, axes, strengths, units)
    return {"main": main, "others": (ingredients_block(cells, axes, strengths, units),)}
