"""Two ways to one answer, timed in turns."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from statistics import median
from time import perf_counter

ROUNDS = 5


@dataclass(frozen=True)
class Compared:
    """Seconds for one answer in each round, ours and the floor's."""

    name: str
    ours: tuple[float, ...]
    floor: tuple[float, ...]

    @property
    def ratio(self) -> float:
        """How many times the floor we take, by medians."""
        return median(self.ours) / median(self.floor)

    def __str__(self) -> str:
        return (
            f"{self.name}: {_words(self.ours)}; floor {_words(self.floor)}; ratio {self.ratio:.1f}"
        )


def compare(
    name: str, ours: Callable[[], object], floor: Callable[[], object], *, times: int
) -> Compared:
    """Time both in turns, five rounds of `times` answers; refused when the answers differ.

    Raises ValueError with both answers, before anything is timed.
    """
    one, other = ours(), floor()
    if one != other:
        raise ValueError(f"{name}: the floor gives another answer\nours  {one}\nfloor {other}")
    rounds = [(_seconds(ours, times), _seconds(floor, times)) for _ in range(ROUNDS)]
    return Compared(name, tuple(a for a, _ in rounds), tuple(b for _, b in rounds))


def _seconds(answer: Callable[[], object], times: int) -> float:
    begun = perf_counter()
    for _ in range(times):
        answer()
    return (perf_counter() - begun) / times


def _words(seconds: tuple[float, ...]) -> str:
    low, middle, high = (1000 * one for one in (min(seconds), median(seconds), max(seconds)))
    return f"median {middle:.2f} ms ({low:.2f} to {high:.2f})"
