"""What a container tag says, before it is drawn."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ContainerTag:
    """Everything on the tag, in words; `ingredients` with their percent in the container."""

    firm: str
    address: str
    phone: str
    product: str
    registration_number: str
    ingredients: tuple[str, ...]
    dilution: str
    signal_word: str
    mixed_on: str
    technician: str
    is_demonstration: bool = False
