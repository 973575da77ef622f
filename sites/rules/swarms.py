"""Bees that swarm are referred, never treated (house rule; common practice, no source)."""

from __future__ import annotations

import re
from collections.abc import Iterable

SWARM = re.compile(r"\bswarm", re.IGNORECASE)
BEES = re.compile(r"\b(honey\s?)?bees?\b", re.IGNORECASE)
REFER_SWARM = (
    "Bees are swarming: refer it. A beekeeper takes the swarm; nothing is sprayed. Keep people and "
    "pets away from it."
)


def refer_swarm(texts: Iterable[str]) -> str:
    """What to do where one of these texts tells of swarming bees; empty where none does.

    Ants and termites swarm too: both words must stand in one text.
    """
    return REFER_SWARM if any(SWARM.search(one) and BEES.search(one) for one in texts) else ""
