"""The words of "On my way"."""

from __future__ import annotations


def on_my_way(firm: str, street: str) -> str:
    """What the technician's telephone proposes to send; the person reads it before sending."""
    return f"{firm}: I am on my way to you at {street}."
