"""The pages of loads: what is on board of whom, and one load as the office sees it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from django.core.paginator import Page
from django.db.models import QuerySet

from accounts.selectors.pages import page_of
from scheduling.selectors.board import LoadPage, LoadRow, load_row, page_of_load
from sites.rules.branch_units import spray_of
from treatments.selectors.load_list import (
    keys_open_first,
    load_of_branches,
    loads_of_branches,
    own_loads,
    states_by_key,
)

if TYPE_CHECKING:
    from accounts.models import Person
    from treatments.models import Load
    from treatments.selectors.loads import LoadState


@dataclass(frozen=True)
class ListedLoad(LoadRow):
    """One load of the list: who mixed it, how much, and how it stands.

    `state` and `state_word` as `components/_state.html` takes them.
    """

    who: str
    is_away: bool
    branch: str
    made: str
    state: str
    state_word: str

    @property
    def is_open(self) -> bool:
        return self.state != "ended"


@dataclass(frozen=True)
class LoadsPage:
    """One page of 50 loads, those on board first."""

    rows: tuple[ListedLoad, ...]
    page: Page[Any]


@dataclass(frozen=True)
class BranchLoadPage(LoadPage):
    """One load for the office; `row` says who mixed it."""

    row: ListedLoad
    branch_id: int


def own_loads_page(person: Person, now: datetime, number: object) -> LoadsPage:
    """A technician's own loads."""
    return _page(own_loads(person), now, number)


def loads_page(
    person: Person, now: datetime, number: object, branch_id: int | None = None
) -> LoadsPage:
    """The loads of the person's branches, or of one of them; a fixed few queries."""
    return _page(loads_of_branches(person, branch_id), now, number)


def _page(loads: QuerySet[Load], now: datetime, number: object) -> LoadsPage:
    page = page_of(keys_open_first(loads), number)
    states = states_by_key(list(page.object_list))
    return LoadsPage(tuple(_listed(state, now) for state in states), page)


def branch_load_page(person: Person, pk: int, now: datetime) -> BranchLoadPage:
    """One load of the person's branches; otherwise Http404."""
    state = load_of_branches(person, pk)
    shown = vars(page_of_load(state, now)) | {"row": _listed(state, now)}
    return BranchLoadPage(**shown, branch_id=state.load.branch_id)


def _listed(state: LoadState, now: datetime) -> ListedLoad:
    row, load = load_row(state, now), state.load
    standing, word = _standing(state, row)
    return ListedLoad(
        **vars(row) | ({"left": spray_of(0, load.branch.units)} if state.board.is_ended else {}),
        who=load.technician.full_name,
        is_away=not load.technician.is_active,
        branch=load.branch.name,
        made=f"{spray_of(load.finished_ul, load.branch.units)} mixed {row.mixed}",
        state=standing,
        state_word=word,
    )


def _standing(state: LoadState, row: LoadRow) -> tuple[str, str]:
    if state.board.is_ended:
        return "ended", "Ended"
    if state.left_ul <= 0:
        return "open", "Empty"
    if not state.load.technician.is_active and not row.is_withdrawn:
        return "check", "Left behind"
    return ("refuse", row.stopped) if row.stopped else ("ok", "On board")
