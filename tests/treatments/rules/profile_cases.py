"""Our own profiles as verified ones, and jobs to ask them about."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

from treatments.rules.predicates import Fact, Job
from treatments.rules.profile_file import read_profile
from treatments.rules.profile_words import Item
from treatments.rules.profiles import Profile

FILE = Path(__file__).parents[3] / "treatments" / "profiles.json"
ENTRIES: dict[str, dict[str, Any]] = {one["code"]: one for one in json.loads(FILE.read_text())}
VERIFIED = {code: read_profile(one, is_verified=True) for code, one in ENTRIES.items()}
EVERY = frozenset(Item)


def job(*true: Fact, distance_ft: str | None = None, units: int | None = None) -> Job:
    """A job where exactly these facts are true and every other one is known to be false."""
    facts = {fact: fact in true for fact in Fact}
    return Job(facts, None if distance_ft is None else Decimal(distance_ft), units)


def profile(code: str, **changes: Any) -> Profile:
    """One profile of the file with some of its plain values changed."""
    return read_profile(ENTRIES[code] | changes, is_verified=True)
