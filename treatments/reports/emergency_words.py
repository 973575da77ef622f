"""What an emergency sheet says, in words, without a way to draw it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class SheetProduct:
    """One product: what a doctor or the fire service asks first, as its label says.

    `first_aid` and `reentry` as on the label, `first_aid_page` where it stands; `safety_sheet` says
    its date and whether it is attached; `where` why the product is on this sheet.
    """

    name: str
    registration_number: str
    ingredients: str
    signal_word: str
    first_aid: str
    first_aid_page: str
    reentry: str
    label_date: str
    safety_sheet: str
    where: str
    is_restricted: bool = False


@dataclass(frozen=True)
class EmergencySheet:
    """The sheet of one day, product or property; `none` is said where it has no product."""

    firm: str
    address: str
    phone: str
    after_hours: str
    about: str
    made: str
    products: tuple[SheetProduct, ...]
    none: str = "No product is known here."
    demo: bool = False
