"""What a record takes from the tables before its turn comes, so that nobody waits for it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from accounts.refusals import Refused
from sites.selectors.properties import property_named
from treatments.rules.applications import Application
from treatments.rules.residual_factors import FactorRow
from treatments.selectors.profile_jobs import NOTHING, Followed, followed_of
from treatments.selectors.profiles import profiles_of
from treatments.selectors.proposed_uses import Known, known_apart, with_past
from treatments.selectors.residual_factors import factor_table
from treatments.selectors.stock import vehicle_at
from treatments.selectors.whole import Whole, whole_apart, with_zones

if TYPE_CHECKING:
    from accounts.models import Person
    from treatments.models import StockPlace


@dataclass(frozen=True)
class Gathered:
    """What an application names and what judges it, but its zones, its amounts, their history.

    Or why there is none: that is said only after a replay was looked for.
    """

    whole: Whole | None = None
    known: Known | None = None
    vehicle: StockPlace | None = None
    factors: tuple[FactorRow, ...] = ()
    refusal: Refused | None = None


@dataclass(frozen=True)
class Settled:
    """One application as it stands under the lock of its property."""

    whole: Whole
    known: Known | None
    followed: Followed


def gather(application: Application, by: Person) -> Gathered:
    """Read what no lock is needed for: label, license, wishes, papers, lots aboard, rules.

    Called outside of the transaction that records; a refusal is kept.
    """
    try:
        whole = whole_apart(application, property_named(application.property_id), by)
    except Refused as refusal:
        return Gathered(refusal=refusal)
    if whole.use is None:
        return Gathered(whole)
    vehicle = vehicle_at(by.pk, application.finished_at)
    return Gathered(whole, known_apart(whole, [whole.use]), vehicle, factor_table())


def settled(gathered: Gathered, application: Application) -> Settled:
    """Add what the lock keeps still: the zones and what was put down there before.

    `application` may have got its product from a load meanwhile. Refused: what `gather` found.
    """
    if gathered.whole is None:
        raise gathered.refusal or Refused("record", "Open the stop again.")
    whole = with_zones(gathered.whole, application)
    if whole.use is None or gathered.known is None:
        return Settled(whole, None, NOTHING)
    known = with_past(_with_rules(gathered.known, whole), whole, [whole.use])
    return Settled(whole, known, _followed(whole, known))


def _with_rules(known: Known, whole: Whole) -> Known:
    """The rules as gathered; read anew where one may still change, since no record follows it."""
    if all(one.is_used for one in _followed(whole, known).profiles):
        return known
    return replace(known, profiles=profiles_of(whole.place.state))


def _followed(whole: Whole, known: Known) -> Followed:
    if whole.use is None:
        return NOTHING
    is_mixed = whole.finished_amount is not None
    return followed_of(whole, whole.use, known.profiles, is_mixed=is_mixed)
