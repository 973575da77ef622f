"""What is said of one mixing and of what is left in the tank, and what cannot be true of it."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import asdict, dataclass
from datetime import datetime
from decimal import Decimal
from hashlib import sha256
from uuid import UUID

from accounts.refusals import Refused
from sites.rules.branch_units import US, spray_of
from sites.rules.units import Amount, display
from treatments.rules.applications import (
    CLOCKS_DIFFER,
    Application,
    Entered,
    finished_amount,
    product_amount,
)
from treatments.rules.loads import GONE, RestKind, is_balanced

LONGEST_WORDS = 120


@dataclass(frozen=True)
class AlsoMixed:
    """Another product in the tank: its direction, what was read on the measure, its lot."""

    label_use_id: int
    product: Entered
    lot_id: int | None = None


@dataclass(frozen=True)
class Mixing:
    """One tank as it was mixed: product and finished spray as read, when, where and in what.

    `client_ref` is minted where the mixing is written and names the load for good.
    """

    client_ref: UUID
    label_use_id: int
    product: Entered
    finished: Entered
    mixed_at: datetime
    visit_ref: str = ""
    equipment: str = ""
    sprayer_id: int | None = None
    lot_id: int | None = None
    also: AlsoMixed | None = None


@dataclass(frozen=True)
class Leftover:
    """What was found in the tank and what was done with it; without an amount nothing was left.

    `container_id` is the rinsate container it was put into, where the branch has several; `reason`
    why a manager says it of somebody else's load.
    """

    client_ref: UUID
    kind: str
    amount: Entered | None = None
    how: str = ""
    where: str = ""
    visit_ref: str = ""
    container_id: int | None = None
    reason: str = ""


def digest_of_entry(entry: Mixing | Leftover) -> str:
    """Hex of the SHA-256 of everything entered: the same reference with other words is refused."""
    content = asdict(entry)
    for later in ("container_id", "reason", "also"):  # entries from before these keep their digest
        if not content.get(later):
            content.pop(later, None)
    text = json.dumps(content, sort_keys=True, default=str, separators=(",", ":"))
    return sha256(text.encode()).hexdigest()


def mixed_amounts(mixing: Mixing, rate_unit: str, *, now: datetime) -> tuple[Amount, Amount]:
    """Undiluted product and finished spray of a mixing.

    Refused: an amount that is missing, zero or of another kind than the label's rates, product
    that fills the tank alone, a time that has not come.
    """
    if mixing.mixed_at > now + CLOCKS_DIFFER:
        sentence = "The load is mixed in the future. Put the time it was mixed."
        raise Refused("mixed_at", sentence, field="mixed")
    product = _at_field("product_amount", product_amount, mixing.product, rate_unit)
    finished = _at_field("finished_amount", finished_amount, mixing.finished)
    if product.kind == "volume" and product.exact >= finished.exact:
        sentence = f"{display(product)} of product leaves no room for water. Check both amounts."
        raise Refused("amount", sentence, field="product_amount")
    return product, finished


def also_amount(mixing: Mixing, rate_unit: str, product: Amount, finished: Amount) -> Amount | None:
    """The undiluted second product of a mixing; None where there is none.

    Refused: an amount that is missing, zero or of another kind than the label's rates, two
    liquids that fill the tank alone.
    """
    if mixing.also is None:
        return None
    also = _at_field("also_amount", product_amount, mixing.also.product, rate_unit)
    liquids = [one.exact for one in (product, also) if one.kind == "volume"]
    if liquids and sum(liquids) >= finished.exact:
        sentence = "The two products leave no room for water. Check the amounts."
        raise Refused("amount", sentence, field="also_amount")
    return also


def put_out(application: Application) -> Amount:
    """The finished spray that a record puts out of its load.

    Refused: no volume, or an amount of product beside it, which the load gives.
    """
    if application.product_amount is not None:
        sentence = "The product follows from the load. Leave its amount empty, or name no load."
        raise Refused("load_amount", sentence, field="product_amount")
    return _at_field("finished_amount", finished_amount, application.finished_amount)


def rest_amount(leftover: Leftover, load_ul: int) -> Amount:
    """What was left in the tank.

    Refused: an unknown kind, an amount where nothing is left or none where something is, more
    than was mixed, product disposed of without how and where.
    """
    if leftover.kind not in list(RestKind):
        raise Refused("rest", "Say what was done with what is left.", field="kind")
    entered = leftover.amount
    if leftover.kind == RestKind.NONE:
        if entered and entered.text.strip() not in ("", "0"):
            sentence = "Nothing is left, and an amount is given. Correct one of them."
            raise Refused("rest", sentence, field="amount")
        return Amount(Decimal(0), "gal")
    found = _at_field("amount", finished_amount, entered)
    if found.exact > load_ul and not is_balanced(int(found.exact) - load_ul, load_ul):
        sentence = "That is more than was mixed. Read the tank again."
        raise Refused("rest", sentence, field="amount")
    _refuse_disposal(leftover)
    return found


def refuse_more_than_held(
    kind: str, found_ul: int, put_out_ul: int, load_ul: int, system: str = US
) -> None:
    """Refuse to take more out of stock than the load held: its uses and this rest together.

    Within 2 % of the load it is a reading, and no more product is taken than was mixed.
    """
    more = put_out_ul + found_ul - load_ul
    if kind not in GONE or more <= 0 or is_balanced(more, load_ul):
        return
    raise Refused(
        "rest",
        f"{spray_of(put_out_ul, system)} was put out of this load by its records; with "
        f"{spray_of(found_ul, system)} that is {spray_of(more, system)} more than was mixed. Read "
        "the tank again; where a record is wrong, have it corrected first, or ask a manager to "
        "end the load.",
        field="amount",
    )


def _refuse_disposal(leftover: Leftover) -> None:
    told = {"how": leftover.how, "where": leftover.where}
    for field, text in told.items():
        if leftover.kind == RestKind.DISPOSED and not text.strip():
            raise Refused("disposal", f"Say {field} it was disposed of.", field=field)
        if len(text.strip()) > LONGEST_WORDS:
            raise Refused("disposal", f"At most {LONGEST_WORDS} characters.", field=field)
    if leftover.kind not in GONE and any(text.strip() for text in told.values()):
        sentence = "It was not disposed of. Leave how and where empty."
        raise Refused("disposal", sentence, field="how")


def _at_field(
    field: str, read: Callable[..., Amount | None], entered: Entered | None, *more: str
) -> Amount:
    """Read an amount and say at which field it is refused; missing and zero are refused too."""
    try:
        amount = read(entered, *more)
    except Refused as refused:
        raise Refused(refused.code, refused.sentence, field=field) from refused
    if amount is None or not amount.value:
        raise Refused("amount", "The amount is missing. Type a number like 1.08.", field=field)
    return amount
