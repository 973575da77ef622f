"""Whom to tell before work where bees are kept: their keepers, the day before (house rule)."""

from __future__ import annotations

from datetime import date, timedelta

from accounts.rules.day_words import short_day

CLOSE_WITH = "Close this with whom you told, when and how."


def booked_sentence(street: str, on: date) -> str:
    """What the office is asked to do before a visit; the product is not known yet."""
    before = short_day(on - timedelta(days=1), True)
    return (
        f"Bees or hives are noted at {street}, and outside work is booked there on "
        f"{short_day(on, True)}: tell their keepers by {before}. {CLOSE_WITH}"
    )


def mixed_sentence(street: str, on: date, products: str) -> str:
    """What is asked when a product with a limit for bees is mixed and nobody was asked before."""
    return (
        f"{products} was mixed for {street} on {short_day(on, True)}: bees or hives are noted "
        f"there and the label names a limit for them. Tell their keepers now. {CLOSE_WITH}"
    )
