"""Every load of a person or of a branch: those on board first, the latest first."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from django.db.models import QuerySet
from django.http import Http404

from accounts.selectors.people import branches_for
from treatments.models import Load
from treatments.rules.loads import ENDS
from treatments.selectors.loads import LoadState, named_loads, states_of

if TYPE_CHECKING:
    from accounts.models import Person


def own_loads(person: Person) -> QuerySet[Load]:
    """What a person mixed."""
    return Load.objects.filter(technician=person)


def loads_of_branches(person: Person, branch_id: int | None = None) -> QuerySet[Load]:
    """What was mixed in the person's branches, or in one of them."""
    loads = Load.objects.filter(branch__in=branches_for(person))
    return loads.filter(branch_id=branch_id) if branch_id else loads


def keys_open_first(loads: QuerySet[Load]) -> list[int]:
    """Keys of loads: those with something left that nobody ended, then the rest."""
    ended = Load.objects.filter(rests__kind__in=ENDS).values("pk")
    going = states_of(named_loads(loads.exclude(pk__in=ended)))
    aboard = [state.load.pk for state in going if state.left_ul > 0]
    known = set(aboard)
    keys = loads.order_by("-mixed_at", "-pk").values_list("pk", flat=True)
    return [*aboard, *(key for key in keys if key not in known)]


def states_by_key(keys: Collection[int]) -> tuple[LoadState, ...]:
    """Loads as they stand, in the order of their keys."""
    rows = named_loads().select_related("technician").in_bulk(list(keys))
    return states_of([rows[key] for key in keys if key in rows])


def load_of_branches(person: Person, pk: int) -> LoadState:
    """One load of the person's branches; otherwise Http404."""
    found = states_by_key(loads_of_branches(person).filter(pk=pk).values_list("pk", flat=True))
    if not found:
        raise Http404("No such load in your branches.")
    return found[0]
