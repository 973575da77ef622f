"""What a check that runs again opens, says anew and closes: running it twice changes nothing."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Finding:
    """What a check has found: the code of its item, the branch, the thing, the sentence."""

    code: str
    branch_id: int
    thing: str
    sentence: str

    @property
    def key(self) -> tuple[str, str]:
        return self.code, self.thing


@dataclass(frozen=True)
class Known:
    """An item of an earlier run; `is_answered` where a person closed it with a note."""

    pk: int
    code: str
    thing: str
    sentence: str
    is_answered: bool = False

    @property
    def key(self) -> tuple[str, str]:
        return self.code, self.thing


@dataclass(frozen=True)
class Steps:
    """Findings to open, items to say anew (key and sentence), items to close by their keys."""

    opened: tuple[Finding, ...]
    said_anew: tuple[tuple[int, str], ...]
    closed: tuple[int, ...]

    @property
    def is_quiet(self) -> bool:
        return not (self.opened or self.said_anew or self.closed)


def steps(
    findings: Iterable[Finding], known: Collection[Known], looked_at: Collection[str]
) -> Steps:
    """Bring items in line with what was found about the things that were looked at.

    What is no longer found closes. What a person has answered stays closed while the same
    sentence is found; another sentence opens it again.
    """
    found = {one.key: one for one in findings}
    still = {one.key: one for one in known if not one.is_answered}
    answered = {(one.key, one.sentence) for one in known if one.is_answered}
    return Steps(
        opened=tuple(
            one
            for key, one in found.items()
            if key not in still and (key, one.sentence) not in answered
        ),
        said_anew=tuple(
            (one.pk, found[key].sentence)
            for key, one in still.items()
            if key in found and found[key].sentence != one.sentence
        ),
        closed=tuple(
            one.pk for key, one in still.items() if key not in found and one.thing in looked_at
        ),
    )
