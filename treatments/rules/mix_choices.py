"""What a technician chooses for a mix beside zones and direction."""

from __future__ import annotations

from dataclasses import dataclass

from sites.rules.branch_units import US
from treatments.rules.measures import Measure
from treatments.rules.rate_choices import RateChoice, reason_for
from treatments.rules.sprayers import Sprayer


@dataclass(frozen=True)
class MixChoice:
    """Rate with its reason, the measure on the truck, the sprayer; refused without a reason
    where the rate needs one.

    Without a measure nothing is rounded; without a sprayer the label's gallons are assumed;
    `system` is that of the branch, for what is said of spray.
    """

    rate: RateChoice = RateChoice.LOW
    reason: str = ""
    measure: Measure | None = None
    sprayer: Sprayer | None = None
    system: str = US

    def __post_init__(self) -> None:
        reason_for(self.rate, self.reason)

    @property
    def is_raised(self) -> bool:
        return self.rate == RateChoice.MOST
