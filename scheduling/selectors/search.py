"""One search box over customers, contacts and places."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from accounts.rules.search import FEWEST_LETTERS, MOST_ROWS
from accounts.selectors.customers import matches as customer_matches
from sites.selectors.properties import matches as property_matches

if TYPE_CHECKING:
    from accounts.models import Person
    from accounts.rules.search import SearchRow


def found_for(person: Person, text: str) -> Sequence[SearchRow]:
    """At most 20 rows of customers, contacts and properties that the person may see.

    Fewer than two letters find nothing. Half the room is kept for each kind where both are many.
    """
    words = text.strip()
    if len(words) < FEWEST_LETTERS:
        return ()
    people, places = list(customer_matches(words, person)), list(property_matches(words, person))
    room = max(MOST_ROWS // 2, MOST_ROWS - len(places))
    return [*people[:room], *places[: MOST_ROWS - min(len(people), room)]]
