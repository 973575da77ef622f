"""What the rules of a place ask of a job, for who is about to record it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from treatments.rules.predicates import Fact
from treatments.rules.products import LimitFact
from treatments.rules.profile_words import Item, Mark
from treatments.rules.profiles import Profile, asked, wanted
from treatments.selectors.profile_jobs import Followed, followed_by
from treatments.selectors.rule_gaps import asking_words
from treatments.selectors.whole import Setting

WEATHER = frozenset({Item.WIND_SPEED, Item.WIND_DIRECTION, Item.AIR_TEMPERATURE, Item.CONDITIONS})
LIMITS = frozenset({LimitFact.WIND, LimitFact.TEMPERATURE_MIN, LimitFact.TEMPERATURE_MAX})


@dataclass(frozen=True)
class AskingRule:
    """One rule with what it asks of this job, in words."""

    source: str
    is_verified: bool
    items: tuple[str, ...]


@dataclass(frozen=True)
class AskedItems:
    """By item who asks for it, code and citation; the rules one by one; whether weather counts."""

    by_item: Mapping[str, str] = field(default_factory=dict)
    rules: tuple[AskingRule, ...] = ()
    needs_weather: bool = True


def asked_items(
    setting: Setting,
    *,
    is_mixed: bool | None = None,
    profiles: tuple[Profile, ...] | None = None,
) -> AskedItems:
    """What the rules ask of a job that is about to be recorded; one query, none with `profiles`.

    Weather counts outdoors, where a rule asks for it and where the label limits it.
    """
    followed = followed_by(setting, is_mixed=is_mixed, profiles=profiles)
    sources = wanted(followed.profiles, followed.job)
    by_item = {
        item.value: "; ".join(one.source for one in profiles) for item, profiles in sources.items()
    }
    return AskedItems(by_item, _rules(followed), _needs_weather(setting, followed, by_item))


def _rules(followed: Followed) -> tuple[AskingRule, ...]:
    found = []
    for profile in followed.profiles:
        said = [
            asking_words(one) + (" (not verified)" if one.mark == Mark.REQUIRED_UNVERIFIED else "")
            for one in asked([profile], followed.job)
            if one.mark != Mark.UNKNOWN
        ]
        found.append(AskingRule(profile.source, profile.is_verified, tuple(said)))
    return tuple(found)


def _needs_weather(setting: Setting, followed: Followed, by_item: Mapping[str, str]) -> bool:
    is_inside = followed.job.facts.get(Fact.IN_STRUCTURE) is True
    limits = setting.use.label_version.limits.all() if setting.use else ()
    is_limited = any(row.fact in LIMITS for row in limits)
    return not is_inside or is_limited or bool(WEATHER & set(by_item))
