"""The baits that a technician may put into a device, and the directions of one of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from treatments.models import LabelUse
from treatments.rules.products import Method
from treatments.selectors.labels import directions_in_force
from treatments.selectors.lots_aboard import lots_aboard
from treatments.selectors.whole import directions_with_label


@dataclass(frozen=True)
class BaitChoice:
    """A bait to choose: `ref` names its label, `lot` is empty where none of it is aboard."""

    ref: str
    product: str
    lot: str

    @property
    def key(self) -> str:
        """The choice as a form sends it."""
        return f"{self.ref}|{self.lot}"

    @property
    def words(self) -> str:
        """Demonstration R, lot L-3."""
        return f"{self.product}, lot {self.lot}" if self.lot else f"{self.product} (not aboard)"


def baits_to_place(technician_id: int, today: date) -> tuple[BaitChoice, ...]:
    """The lots of baits aboard, the oldest first, then the other baits whose labels are in force.

    A lot is of the label it carries, also where a newer one is in force.
    """
    aboard = lots_aboard(technician_id)
    own = _baits_of({lot.label_version_id for lot in aboard})
    here = [
        BaitChoice(str(lot.label_version_id), own[lot.label_version_id], lot.number)
        for lot in aboard
        if lot.label_version_id in own
    ]
    labels = {use.label_version_id: use for use in directions_in_force(today) if is_bait(use)}
    rest = [
        BaitChoice(str(pk), use.label_version.product.name, "")
        for pk, use in labels.items()
        if pk not in own
    ]
    return (*here, *rest)


def is_bait(use: LabelUse) -> bool:
    """Whether a direction is for placing bait."""
    return Method.BAIT in use.methods


def _baits_of(label_ids: set[int]) -> dict[int, str]:
    uses = directions_with_label().filter(label_version__in=label_ids)
    return {use.label_version_id: use.label_version.product.name for use in uses if is_bait(use)}


def bait_directions(ref: str) -> Sequence[LabelUse]:
    """The directions for placing bait of the label that a check names; none for a strange name."""
    if not ref.isdecimal():
        return []
    uses = directions_with_label().filter(label_version=int(ref)).order_by("pk")
    return [use for use in uses if is_bait(use)]
