"""The first branch of a house without any."""

from __future__ import annotations

from django.db import transaction

from accounts.models import Branch
from accounts.refusals import Refused
from accounts.selectors.people import branches_for
from accounts.services.branches import open_branch

FIRST_BRANCH = "Main branch"


def open_first_branch(*, name: str, state: str) -> Branch:
    """The branch of that name, opened when there is none; without a name the only branch.

    Refused: no name where there are several branches, no state for a branch to open.
    """
    with transaction.atomic():
        known = list(branches_for(None))
        if not name and len(known) == 1:
            return known[0]
        if not name and known:
            raise _unnamed(known)
        found = next((one for one in known if one.name == name.strip()), None)
        return found or _opened(name or FIRST_BRANCH, state)


def _unnamed(known: list[Branch]) -> Refused:
    names = ", ".join(one.name for one in known)
    return Refused("branch", f"Say which branch with --branch: {names}.")


def _opened(name: str, state: str) -> Branch:
    if not state:
        raise Refused("state", "A new branch needs its state: add --state OH.")
    return open_branch(name=name, state=state, by=None)
