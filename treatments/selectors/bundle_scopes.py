"""What somebody asks a bundle for, by name or number, and the scope in words."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING

from accounts.refusals import Refused
from accounts.rules.day_words import clock, short_day
from accounts.selectors.people import branches_for
from treatments.models import ApplicationRecord
from treatments.rules.bundles import BundleScope

if TYPE_CHECKING:
    from django.db.models import QuerySet


def scope_of(
    *,
    since: date,
    until: date,
    branch: str = "",
    person: str = "",
    place: str = "",
    product: str = "",
    lot: str = "",
) -> BundleScope:
    """The scope from what was typed; refused when a branch, person or property is not known.

    A branch goes by name, an applicator by number or full name, a property by number.
    """
    return BundleScope(
        since=since,
        until=until,
        branch_id=_branch(branch) if branch else None,
        person_id=_person(person) if person else None,
        property_id=_property(place) if place else None,
        product=product,
        lot=lot,
    )


def _branch(name: str) -> int:
    found = [one.pk for one in branches_for(None) if one.name.casefold() == name.casefold()]
    if not found:
        raise Refused("bundle", f"There is no branch named {name!r}.", field="branch")
    return found[0]


def _person(typed: str) -> int:
    rows = ApplicationRecord.objects.order_by()
    named = (
        {"applicator_id": typed} if typed.isdecimal() else {"applicator__full_name__iexact": typed}
    )
    found = set(rows.filter(**named).values_list("applicator_id", flat=True).distinct())
    if len(found) != 1:
        count = "More than one applicator goes" if found else "No applicator with a record goes"
        raise Refused("bundle", f"{count} by {typed!r}. Give the number of the person.")
    return found.pop()


def _property(typed: str) -> int:
    rows: QuerySet[ApplicationRecord] = ApplicationRecord.objects.none()
    if typed.isdecimal():
        rows = ApplicationRecord.objects.filter(property_id=typed)
    if not rows.exists():
        raise Refused("bundle", f"No record is of a property with the number {typed!r}.")
    return int(typed)


def scope_words(scope: BundleScope) -> str:
    """The scope in a sentence."""
    days = f"{short_day(scope.since, True)} to {short_day(scope.until, True)}"
    narrowed = "".join(f", {word}" for word in _narrowed(scope))
    return f"Records applied {days}{narrowed}, with every entry that follows one of them."


def _narrowed(scope: BundleScope) -> Iterator[str]:
    if scope.branch_id:
        yield next(one.name for one in branches_for(None) if one.pk == scope.branch_id)
    if scope.person_id:
        yield f"applicator {scope.person_id}"
    if scope.property_id:
        yield f"property {scope.property_id}"
    if scope.product:
        yield f"product {scope.product}"
    if scope.lot:
        yield f"lot {scope.lot}"
    if scope.property_ids is not None:
        count = len(scope.property_ids)
        yield "1 property" if count == 1 else f"{count} properties"
    if scope.hours:
        yield "{} to {} at the branch".format(*(clock(at) for at in scope.hours))
