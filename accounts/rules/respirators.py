"""Whether a person's respirator papers hold on a day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from accounts.rules.day_words import short_day


@dataclass(frozen=True)
class Papers:
    """One respirator of one person; each paper holds through its day."""

    respirator: str
    medical_until: date
    fit_test_until: date
    cartridge_until: date


def gaps(papers: Papers | None, on: date) -> tuple[str, ...]:
    """What is missing or run out on a day, in words; empty when a respirator may be worn."""
    if papers is None:
        return ("no medical clearance, fit test and cartridge date are on file",)
    ends = (
        ("the medical clearance", papers.medical_until),
        ("the fit test", papers.fit_test_until),
        ("the cartridge", papers.cartridge_until),
    )
    return tuple(f"{name} ran out on {short_day(end, True)}" for name, end in ends if end < on)
