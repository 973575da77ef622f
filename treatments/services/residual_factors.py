"""Entering a factor that shortens label claims, and another number of days for one window."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.selectors.people import branches_for
from accounts.services.audit import note_event
from sites.services.locks import take_turn
from treatments.models import ResidualFactor, ResidualWindow, WindowOverride
from treatments.rules.residual import rain_factor
from treatments.rules.residual_factors import (
    FactorKind,
    FactorRow,
    refuse_factor,
    refuse_override,
)
from treatments.services.protections import refresh_protections

if TYPE_CHECKING:
    from accounts.models import Person
    from treatments.models import ApplicationRecord

RAIN_SOURCE = "PLoS ONE 15(4):e0231251"


@transaction.atomic
def enter_factor(
    *,
    kind: str,
    from_on: date,
    by: Person | None,
    factor: Decimal | None = None,
    rain_mm: Decimal | None = None,
    source: str = "",
    **key: object,
) -> ResidualFactor:
    """Enter a factor from a day on; the row of the same key before it ends there.

    `key` are ingredient, formulation, surface, exposure, first and last month. For rain the
    expected `rain_mm` of the months gives the factor by the published ratio. Windows that are
    open stay as they were made. Refused: a factor outside 0 to 1, no factor, a key that fits
    nothing, rain with another kind.
    """
    require(by, Permission.EDIT_LABELS)
    if rain_mm is not None:
        if kind != FactorKind.RAIN or factor is not None:
            raise Refused(
                "rain", "Rain in mm gives a rain factor by itself. Leave one of them empty.",
                field="rain_mm",
            )  # fmt: skip
        factor, source = rain_factor(rain_mm).quantize(Decimal("0.001")), source or RAIN_SOURCE
    if factor is None:
        raise Refused("factor", "Write a factor from 0 to 1.", field="factor")
    row = FactorRow(kind, factor, from_on, source=source, **key)  # type: ignore[arg-type]
    refuse_factor(row)
    stored = ResidualFactor.objects.create(
        **{name: value for name, value in vars(row).items() if name != "pk"}, created_by=by
    )
    note_event(by=by, act="enter_residual_factor", thing=stored, factor=str(factor))
    return stored


def carry_overrides(before: ApplicationRecord, windows: Iterable[ResidualWindow]) -> None:
    """What the office said of a window is said of the one in its place: same zone, group, days.

    Runs in the transaction of an entry, before the protections are recomputed.
    """
    said = WindowOverride.objects.filter(window__treated_area__record=before).order_by("pk")
    last = {_place_of(one.window): one for one in said.select_related("window")}
    WindowOverride.objects.bulk_create(
        WindowOverride(
            window=window,
            days=one.days,
            expires_on=one.expires_on,
            reason=one.reason,
            created_by_id=one.created_by_id,
        )
        for window in windows
        if (one := last.get(_place_of(window)))
    )


def _place_of(window: ResidualWindow) -> tuple[int, str, int, date]:
    return window.zone_id, window.pest_group, window.claim_days, window.applied_on


@transaction.atomic
def override_window(
    *, window_id: int, days: int, reason: str, by: Person | None, now: datetime
) -> WindowOverride:
    """Let one window hold another number of days, from its own first day on, with a reason.

    The window stays as it was made; the last override counts. The protections of its zone are
    recomputed in the same transaction. Refused: more than the label's claim, no reason, a window
    of a branch one does not work for.
    """
    require(by, Permission.BOOK_VISITS)
    rows = ResidualWindow.objects.select_related("zone")
    if by is not None:
        rows = rows.filter(zone__property__branch__in=branches_for(by))
    window = rows.filter(pk=window_id).first()
    if window is None:
        raise Refused("window", "There is no such treatment. Open the property again.")
    refuse_override(window.claim_days, days, reason)
    take_turn(window.zone.property_id)
    stored = WindowOverride.objects.create(
        window=window,
        days=days,
        expires_on=window.applied_on + timedelta(days=days),
        reason=reason.strip(),
        created_by=by,
    )
    refresh_protections([window.zone_id])
    note_event(by=by, act="override_window", thing=window, now=now, days=days)
    return stored
