"""Who may be named as supervisor of restricted-use work at a stop."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from accounts.selectors.people import certified_in_force
from scheduling.selectors.mix_pages import MixPage, Over

if TYPE_CHECKING:
    from accounts.models import Person


def _supervisors_at(person: Person, page: MixPage, today: date) -> Over | None:
    """The certified applicators in force there, and who supervises by the license.

    None where nobody has to be named: no product of the tank is restricted use, or a certified
    applicator does it. Which category a job needs is a state's own list that nobody verified, so
    each is shown with theirs.
    """
    uses = [page.use, *page.also_uses] if page.use else []
    if not any(use.label_version.product.is_restricted_use for use in uses):
        return None
    state = page.found.visit.property.state
    held, _ = page.found.licenses or (None, None)
    if held is not None and held.kind == "certified":
        return None
    rows = {
        str(one.person_id): f"{one.person.full_name}, {one.number}"
        + (f", category {one.categories}" if one.categories else "")
        for one in certified_in_force(state, today)
        if one.person_id != person.pk
    }
    return list(rows.items()), held.supervisor_id if held else None


def with_supervisors(page: MixPage, person: Person, today: date) -> MixPage:
    """The page with who may be named before mixing; somebody who is not offered is dropped."""
    over = _supervisors_at(person, page, today)
    offered, _ = over or ((), None)
    is_one = str(page.choice.supervisor_id) in dict(offered)
    choice = page.choice if is_one else replace(page.choice, supervisor_id=None)
    return replace(page, supervisors=tuple(offered), over=over, choice=choice)
