"""Which words tell of swarming bees (house rule)."""

from __future__ import annotations

import pytest

from sites.rules.swarms import REFER_SWARM, refer_swarm


@pytest.mark.parametrize(
    ("texts", "is_swarm"),
    [
        (["Bees swarming at the eave"], True),
        (["A SWARM of honeybees in the maple"], True),
        (["honey bee swarm"], True),
        (["Ants", "one bee, swarming"], True),
        (["Termite swarmers at the sill"], False),  # no bees
        (["Ants swarm", "bees at the hive"], False),  # two texts, two matters
        (["Carpenter bees in the fascia"], False),
        (["beech leaves, a swarm of gnats"], False),
        ([""], False),
        ([], False),
    ],
)
def test_swarming_bees_are_referred(texts: list[str], is_swarm: bool) -> None:
    assert refer_swarm(texts) == (REFER_SWARM if is_swarm else "")
