"""What the mix of a stop is worked out from, read once for the page and handed down."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from scheduling.selectors.today import own_stop
from sites.selectors.pests import pests
from sites.selectors.properties import zones_at
from treatments.selectors.checks import Already
from treatments.selectors.equipment import sprayers_of_branch
from treatments.selectors.labels import directions_at_hand
from treatments.selectors.lots_aboard import lots_aboard
from treatments.selectors.whole import licenses_on

if TYPE_CHECKING:
    from accounts.models import Person
    from scheduling.models import Visit
    from scheduling.selectors.mix_choices import Choice
    from sites.models import Pest, TreatableZone
    from treatments.models import LabelUse
    from treatments.rules.sprayers import Sprayer
    from treatments.selectors.checks import Licenses
    from treatments.selectors.labels import AtHand
    from treatments.selectors.lots_aboard import LotAboard


@dataclass(frozen=True)
class Found:
    """The stop, its zones, the directions at hand, the lots aboard, sprayers, the licenses there.

    `uses` are the directions in force, and the chosen one also where its label is in force no
    more: a label may be withdrawn or superseded while the work goes on. Mixing is then refused in
    words, and what was put down is recorded and judged. `pests` may be chosen for that direction.
    """

    visit: Visit
    zones: tuple[TreatableZone, ...]
    at_hand: AtHand
    uses: tuple[LabelUse, ...]
    use: LabelUse | None
    pests: tuple[Pest, ...]
    aboard: tuple[LotAboard, ...]
    sprayers: dict[int, Sprayer]
    licenses: Licenses | None

    @property
    def already(self) -> Already:
        """The same as the label check takes it."""
        directions = (*self.at_hand.in_force, *self.at_hand.others)
        return Already(directions, self.zones, self.pests, self.aboard, self.licenses)


def found_at(person: Person, pk: int, choice: Choice, today: date) -> Found:
    """Everything of an own stop that the mix may need, whatever is chosen; otherwise Http404."""
    visit, aboard = own_stop(person, pk), lots_aboard(person.pk)
    labels = {lot.label_version_id for lot in aboard}
    named = [choice.use_id] if choice.use_id else []
    at_hand = directions_at_hand(today, named, labels)
    chosen = tuple(use for use in at_hand.others if use.pk == choice.use_id)
    uses = (*at_hand.in_force, *chosen)
    use = next((use for use in uses if use.pk == choice.use_id), None)
    return Found(
        visit=visit,
        zones=tuple(zones_at(visit.property_id)),
        at_hand=at_hand,
        uses=uses,
        use=use,
        pests=_pests(use),
        aboard=aboard,
        sprayers=sprayers_of_branch(person.branch_id),
        licenses=licenses_on(person.pk, visit.property.state, today) if use else None,
    )


def _pests(use: LabelUse | None) -> tuple[Pest, ...]:
    """The pests of a direction, and every other one where its label is silent about them."""
    if use is None:
        return ()
    return tuple(use.pests.all() if use.label_version.only_listed_uses else pests())
