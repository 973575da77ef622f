"""Words of a drawing put where nothing else stands."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import hypot, inf

STEP = 8


@dataclass(frozen=True)
class Face:
    """How much room words take, in px: a bold letter, a small one, a line."""

    bold: float
    small: float
    line: float


# wide enough for common text faces, looked at in a browser: 13 and 11.5 px, on the phone 17 px
SCREEN, HAND = Face(7.6, 6.4, 16.0), Face(10.2, 9.6, 20.0)


@dataclass(frozen=True)
class Box:
    """A rectangle in px: left edge, top edge, width, height."""

    x: float
    y: float
    width: float
    height: float

    def overlaps(self, other: Box) -> bool:
        """Whether the two share more than an edge."""
        return (
            self.x < other.x + other.width
            and other.x < self.x + self.width
            and self.y < other.y + other.height
            and other.y < self.y + self.height
        )

    def holds(self, other: Box) -> bool:
        """Whether the other lies inside this one."""
        return (
            self.x <= other.x
            and self.y <= other.y
            and other.x + other.width <= self.x + self.width
            and other.y + other.height <= self.y + self.height
        )

    def edge_toward(self, x: float, y: float) -> tuple[float, float]:
        """The point of this rectangle that is nearest to another one."""
        return (
            min(max(x, self.x), self.x + self.width),
            min(max(y, self.y), self.y + self.height),
        )


@dataclass(frozen=True)
class Label:
    """Lines of words that belong to a spot; the first line is bold unless all are small.

    It is left out rather than put farther than `reach` px from its spot.
    """

    lines: tuple[str, ...]
    x: float
    y: float
    small: bool = False
    reach: float = inf
    face: Face = SCREEN

    @property
    def width(self) -> float:
        """Room for its longest line, in px."""
        first, *rest = self.lines
        lead = self.face.small if self.small else self.face.bold
        return max([len(first) * lead, *(len(one) * self.face.small for one in rest)])

    @property
    def height(self) -> float:
        """Room for all its lines, in px."""
        return len(self.lines) * self.face.line


def place_labels(
    labels: Sequence[Label], taken: Sequence[Box], frame: Box
) -> tuple[Box | None, ...]:
    """A rectangle for each label, as near to its spot as is free; None where no room is left.

    None of them overlaps another or what is `taken`, and all lie within `frame`. Earlier labels
    choose first.
    """
    full = list(taken)
    found: list[Box | None] = []
    for label in labels:
        free = next((box for box in _around(label, frame) if _is_free(box, full)), None)
        if free is not None:
            full.append(free)
        found.append(free)
    return tuple(found)


def _is_free(box: Box, full: Sequence[Box]) -> bool:
    return not any(box.overlaps(other) for other in full)


def _around(label: Label, frame: Box) -> Iterator[Box]:
    """Every place of a grid in the frame within reach, those next to the label's spot first."""
    width, height = label.width, label.height
    xs = _steps(frame.x, frame.x + frame.width - width)
    ys = _steps(frame.y, frame.y + frame.height - height)
    boxes = [Box(x, y, width, height) for x in xs for y in ys]

    def far(box: Box) -> tuple[float, float]:
        x, y = box.edge_toward(label.x, label.y)
        beside, above = box.x + width / 2 - label.x, box.y + height / 2 - label.y
        return hypot(x - label.x, y - label.y), hypot(beside, above)

    return iter(sorted((box for box in boxes if far(box)[0] <= label.reach), key=far))


def _steps(first: float, last: float) -> list[float]:
    return [first + STEP * number for number in range(int((last - first) // STEP) + 1)]
