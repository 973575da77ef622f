"""What a record form says once it is read, in the words of the rules."""

from __future__ import annotations

from typing import Any

from treatments.rules.applications import Entered, Weather


def product_of(entered: dict[str, Any]) -> Entered | None:
    """The product as read; that of a load follows from the spray."""
    amount = entered["product_amount"]
    if entered.get("load") and not amount:
        return None
    return Entered(amount, entered["product_unit"])


def sprayed_of(entered: dict[str, Any]) -> Entered | None:
    """The finished spray as read; None without one."""
    amount = entered["finished_amount"]
    return Entered(amount, entered["finished_unit"]) if amount else None


def weather_of(entered: dict[str, Any]) -> Weather:
    """Wind and air as stored, where they were read, and the sky."""
    wind, air = (_reading(entered.get(name)) for name in ("wind_mph", "temperature_f"))
    said = (entered.get(name, "") for name in ("weather_source", "wind_direction", "conditions"))
    return Weather(wind, air, *said)


def _reading(value: object) -> str:
    return "" if value is None else str(value)
