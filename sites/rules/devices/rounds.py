"""A round in walking order: which device is next, what is left, what was skipped."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Standing:
    """Where a round stands: answered of all, the next device, those still open, in order."""

    total: int
    answered: int
    next_id: int | None
    open_ids: tuple[int, ...]

    @property
    def words(self) -> str:
        """12 of 40."""
        return f"{self.answered} of {self.total}"


def standing(in_order: Sequence[int], answered: Collection[int], after: int | None) -> Standing:
    """Where a round stands; `after` is the device one has just been at, or has left out.

    The next device is the first open one behind it; None at the end of the row, though devices
    that were left out may still be open.
    """
    left = tuple(one for one in in_order if one not in answered)
    behind = in_order[in_order.index(after) + 1 :] if after in in_order else in_order
    next_id = next((one for one in behind if one not in answered), None)
    return Standing(len(in_order), len(in_order) - len(left), next_id, left)
