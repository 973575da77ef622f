"""What is typed about devices and checks, before it is a row, and what cannot be true of it."""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from uuid import UUID

from accounts.refusals import Refused
from sites.rules.devices.words import ALL_EATEN, BAITED, FED_ON, LOOKED_AT, OUTCOME_WORDS, Outcome
from sites.rules.units import Amount, kind_of, parse_amount, plain

MOST_CHECKS = 500  # of one submission
MOST_PESTS = 12
MOST_COUNTED = 9999
MOST_PLACED = 999
MOST_EACH = Decimal(9999)
CLOCKS_DIFFER = timedelta(minutes=5)  # house rule, as for records
LONGEST_NOTE = 400


@dataclass(frozen=True)
class Spot:
    """Where a device is: in words, in a zone, on the plan, and its turn in the round.

    On the plan either a wall by name with the offset along it in mm, or x and y in mm.
    """

    place: str
    zone_id: int | None = None
    wall: str = ""
    offset_mm: int | None = None
    x_mm: int | None = None
    y_mm: int | None = None
    turn: int | None = None
    holds: str = ""


@dataclass(frozen=True)
class NewDevices:
    """Several devices of one kind; `numbers` as typed (`1-12, 14`)."""

    property_id: int
    numbers: str
    kind: str
    placed_on: date
    spot: Spot


@dataclass(frozen=True)
class AddedBait:
    """Bait put into a device: so many pieces of so much each, from a lot of a product.

    `product_ref` names the product's label upstairs as text; `each` is decimal text in `unit`.
    """

    pieces: int
    each: str
    unit: str
    product_ref: str
    product: str
    lot: str = ""


@dataclass(frozen=True)
class NewCheck:
    """One look at one device; `client_ref` is minted with the form and names it for good.

    `counts` are pest and number; `eaten` quarters of the bait, 0 to 4; `spoiled` and `removed`
    pieces of bait; `captured_at` when it was seen, None: now.
    """

    client_ref: UUID
    device_id: int
    outcome: str
    counts: tuple[tuple[int, int], ...] = ()
    eaten: int | None = None
    spoiled: int = 0
    removed: int = 0
    added: AddedBait | None = None
    is_damaged: bool = False
    note: str = ""
    captured_at: datetime | None = None
    visit_ref: str = ""


def digest_of(new: NewCheck) -> str:
    """SHA-256 of what was sent, the order of the counts left out of account."""
    facts = asdict(new) | {"counts": sorted(new.counts)}
    text = json.dumps(facts, sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()


def refuse_submission(checks: Sequence[NewCheck]) -> None:
    """Refuse nothing at all, more than 500 checks, a reference or a device twice."""
    if not 1 <= len(checks) <= MOST_CHECKS:
        raise Refused("checks", f"Send 1 to {MOST_CHECKS} checks at once.")
    for name, words in (("client_ref", "reference"), ("device_id", "device")):
        if max(Counter(getattr(one, name) for one in checks).values()) > 1:
            raise Refused("checks", f"A {words} stands twice in this submission.")


def refuse_nonsense(new: NewCheck, *, kind: str, now: datetime) -> None:
    """Refuse what cannot be true of a check of a device of this kind."""
    if new.outcome not in OUTCOME_WORDS:
        raise Refused("outcome", "Say what was found at the device.", field="outcome")
    _refuse_numbers(new)
    _refuse_bait(new, kind)
    _refuse_contradiction(new)
    if new.captured_at is not None and new.captured_at > now + CLOCKS_DIFFER:
        raise Refused("time", "This check was made in the future. Set the clock and send again.")


def _refuse_numbers(new: NewCheck) -> None:
    if len(new.counts) > MOST_PESTS:
        raise Refused("counts", f"Count at most {MOST_PESTS} pests at one device.")
    if len({pest for pest, _ in new.counts}) < len(new.counts):
        raise Refused("counts", "A pest is counted twice. Give one number for each.")
    if any(not 1 <= number <= MOST_COUNTED for _, number in new.counts):
        raise Refused("counts", f"A count is a whole number from 1 to {MOST_COUNTED}.")
    if new.eaten is not None and not 0 <= new.eaten <= ALL_EATEN:
        raise Refused("eaten", "Say none, 1/4, 1/2, 3/4 or all of the bait.", field="eaten")
    if not all(0 <= number <= MOST_PLACED for number in (new.spoiled, new.removed)):
        raise Refused("bait", f"Pieces of bait are a whole number from 0 to {MOST_PLACED}.")


def _refuse_bait(new: NewCheck, kind: str) -> None:
    says_bait = new.eaten is not None or new.spoiled or new.removed or new.added
    if says_bait and kind not in FED_ON:
        raise Refused("bait", "This device holds no bait. Take the bait out of its check.")
    if new.added is not None and kind not in BAITED:
        raise Refused("bait", "Bait with poison goes into a bait station only.", field="bait")
    if new.added is not None:
        amount_added(new.added)


def amount_added(added: AddedBait) -> Amount:
    """Pieces times the amount of one, exact, in the unit as typed.

    Refused: no whole number of pieces, an amount of one that is no weight or count or is zero,
    no product.
    """
    if not 1 <= added.pieces <= MOST_PLACED:
        raise Refused("bait", f"Add 1 to {MOST_PLACED} pieces of bait.", field="pieces")
    if not added.product_ref or not added.product:
        raise Refused("bait", "Choose the bait that was added.", field="bait")
    if kind_of(added.unit) not in ("mass", "count"):
        raise Refused("bait", "Bait is weighed or counted. Choose g, oz, lb or each.", field="unit")
    one = parse_amount(added.each, added.unit, at_most=MOST_EACH)
    if not one.value:
        raise Refused("bait", "One piece of bait weighs more than nothing.", field="each")
    return Amount(one.value * added.pieces, added.unit)


def _refuse_contradiction(new: NewCheck) -> None:
    says_activity = bool(new.counts or new.eaten)
    if new.outcome == Outcome.NO_ACTIVITY and says_activity:
        raise Refused("outcome", "A count or eaten bait is activity. Choose Activity.")
    if new.outcome == Outcome.ACTIVITY and not (says_activity or new.note.strip()):
        raise Refused("outcome", "Say what shows the activity: a count, the bait eaten, or a note.")
    if new.outcome not in LOOKED_AT:
        _refuse_seen(new, says_activity)
    if new.outcome == Outcome.SKIPPED and not new.note.strip():
        raise Refused("reason", "Say why this device was not checked.", field="note")


def _refuse_seen(new: NewCheck, says_activity: bool) -> None:
    """Nobody sees inside a device that is missing, out of reach or left out."""
    bait = new.eaten is not None or new.spoiled or new.removed or new.added
    if says_activity or bait or new.is_damaged:
        words = OUTCOME_WORDS[Outcome(new.outcome)].lower()
        raise Refused("outcome", f"A device that is {words} shows nothing. Choose one of the two.")


def refuse_place_on_plan(spot: Spot) -> None:
    """Refuse half a place on the plan, and both kinds at once; lengths in mm."""
    pairs = (
        bool(spot.wall) == (spot.offset_mm is not None),
        (spot.x_mm is None) == (spot.y_mm is None),
    )
    if not all(pairs):
        raise Refused("plan", "Give the wall with its offset, or x with y.", field="wall")
    if spot.wall and spot.x_mm is not None:
        raise Refused("plan", "Give the wall with its offset or x with y, not both.", field="wall")
    if spot.offset_mm is not None and spot.offset_mm < 0:
        raise Refused("plan", "An offset along a wall is not below zero.", field="offset_mm")
    if spot.turn is not None and spot.turn < 1:
        raise Refused("turn", "The turn in the round is 1 or more.", field="turn")


def added_words(pieces: int, each: str, unit: str, taken_of: str, lot: str) -> str:
    """Six pieces of 20 g, Demonstration R, lot L-3."""
    one = str(Amount(Decimal(each), unit))
    lot_words = f", lot {lot}" if lot else ""
    return f"{pieces} × {one}, {taken_of}{lot_words}"


def sum_of(amounts: Collection[Amount], unit: str) -> str:
    """The sum as decimal text in one unit; none is ever turned into another."""
    if any(one.unit != unit for one in amounts):
        raise ValueError("amounts of one unit are added")
    return plain(sum((one.value for one in amounts), Decimal(0)))
