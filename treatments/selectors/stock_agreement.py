"""What the use log says was used against what the stock moves took, by product and month."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from django.db.models import (
    BigIntegerField,
    Case,
    Exists,
    F,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
    When,
)
from django.db.models.functions import Coalesce, TruncMonth

from accounts.rules.day_words import short_day
from accounts.selectors.people import branches_for
from sites.rules.units import Amount, display, from_canonical
from treatments.models import ApplicationRecord, StockMove
from treatments.rules.stock import MoveKind
from treatments.selectors.stock import driven_at, driven_before

if TYPE_CHECKING:
    from accounts.models import Person

MOST_RECORDS = 50
Key = tuple[str, str, date, bool]


@dataclass(frozen=True)
class Differing:
    """One record that took another amount than it says; `is_short` when too little was taken."""

    record_id: int
    on: str
    product: str
    logged: str
    taken: str
    is_short: bool


@dataclass(frozen=True)
class Agreement:
    """One product of a branch in a month: logged, taken, and the difference in words."""

    branch: str
    product: str
    month: date
    logged: str
    taken: str
    difference: str


@dataclass(frozen=True)
class Comparison:
    """The whole comparison: months that differ, how many agree, the records behind it."""

    differing: tuple[Agreement, ...]
    agreeing: int
    records: tuple[Differing, ...]
    since: str

    @property
    def is_whole(self) -> bool:
        return not self.differing and not self.records


def compare_use(person: Person, since: date) -> Comparison:
    """Records since a day against the moves they made; three queries.

    Records of technicians with a vehicle on that day, and every record that ever took something.
    A voided or corrected record counts as nothing used: what it took must be back.
    """
    records = _compared(person, since)
    totals = _totals(records)
    rows = [_agreement(key, *amounts) for key, amounts in sorted(totals.items())]
    differing = tuple(row for row in rows if row.difference)
    apart = records.exclude(Q(("logged", F("taken")))).order_by("-applied_on", "-pk")
    return Comparison(
        differing=differing,
        agreeing=len(rows) - len(differing),
        records=tuple(_differing(record) for record in apart[:MOST_RECORDS]),
        since=short_day(since, True),
    )


def record_for_stock(person: Person, pk: int) -> ApplicationRecord | None:
    """A record of the person's branches, for taking what it missed."""
    return ApplicationRecord.objects.filter(pk=pk, branch__in=branches_for(person)).first()


def _compared(person: Person, since: date) -> QuerySet[ApplicationRecord]:
    moves = StockMove.objects.filter(kind=MoveKind.USE, record=OuterRef("pk")).order_by()
    taken = moves.values("record").annotate(total=Sum(Coalesce("ul", "mg"))).values("total")
    replaced = ApplicationRecord.objects.filter(corrects=OuterRef("pk"))
    who_and_when = OuterRef("applicator"), OuterRef("finished_at")
    drove = Exists(driven_at(*who_and_when)) | Exists(driven_before(*who_and_when))
    records = ApplicationRecord.objects.filter(
        branch__in=branches_for(person), applied_on__gte=since, label_version__isnull=False
    )
    used = Coalesce("product_ul", "product_mg", 0)
    return records.annotate(
        taken=Coalesce(Subquery(taken, output_field=BigIntegerField()), 0),
        logged=Case(
            When(Exists(replaced) | Q(entry="void"), then=0),
            default=used,
            output_field=BigIntegerField(),
        ),
    ).filter(drove | Q(taken__gt=0) | Q(taken__lt=0))


def _totals(records: QuerySet[ApplicationRecord]) -> dict[Key, tuple[int, int]]:
    """Summed here, not in SQL: a sum over a subquery is one each engine reads differently."""
    sums: dict[Key, tuple[int, int]] = defaultdict(lambda: (0, 0))
    rows = records.order_by().annotate(month=TruncMonth("applied_on"))
    columns = ("branch_name", "product_name", "month", "product_mg", "logged", "taken")
    for branch, product, month, mg, logged, taken in rows.values_list(*columns):
        key = (branch, product, month, mg is not None)
        sums[key] = (sums[key][0] + logged, sums[key][1] + taken)
    return dict(sums)


def _agreement(key: Key, logged: int, taken: int) -> Agreement:
    branch, product, month, is_mass = key
    unit = "oz_wt" if is_mass else "fl_oz"
    word = "Not taken" if logged > taken else "Taken too much"
    return Agreement(
        branch=branch,
        product=product,
        month=month,
        logged=_shown(logged, unit),
        taken=_shown(taken, unit),
        difference=f"{word}: {_shown(abs(logged - taken), unit)}" if logged != taken else "",
    )


def _differing(record: ApplicationRecord) -> Differing:
    unit = record.product_unit or "fl_oz"
    logged, taken = record.logged, record.taken  # type: ignore[attr-defined]
    return Differing(
        record_id=record.pk,
        on=short_day(record.applied_on, True),
        product=record.product_name,
        logged=_shown(logged, unit),
        taken=_shown(taken, unit),
        is_short=logged > taken,
    )


def _shown(quantity: int, unit: str) -> str:
    return display(Amount(from_canonical(quantity, unit), unit))
