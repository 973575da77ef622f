"""Open items for what runs out: one a paper, its sentence sharper in every band."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from accounts.models import OpenItem
from accounts.rules.register import RUNS_OUT, Band, RegisterLine, begins_on
from accounts.services.audit import open_item

RENEWED = "Renewed, or it counts no more."


@dataclass(frozen=True)
class WatchReport:
    """What one look did: items opened, said anew, closed."""

    opened: int
    sharpened: int
    closed: int

    @property
    def is_quiet(self) -> bool:
        """Whether nothing changed."""
        return not (self.opened or self.sharpened or self.closed)

    @property
    def sentence(self) -> str:
        return f"Register: {self.opened} opened, {self.sharpened} said anew, {self.closed} closed."


@transaction.atomic
def watch_lines(*, lines: Collection[RegisterLine], today: date, now: datetime) -> WatchReport:
    """Bring the items in line with every line of the register.

    An item somebody closed by hand stays closed until the paper comes into the next band.
    """
    due = {one.thing: one for one in lines if one.band(today) > Band.LATER}
    items = OpenItem.objects.select_for_update().filter(code=RUNS_OUT, closed_at=None)
    known = {item.thing: item for item in items}
    gone = [item.pk for thing, item in known.items() if thing not in due]
    closed = OpenItem.objects.filter(pk__in=gone).update(closed_at=now, closed_note=RENEWED)
    sharpened = sum(_sharpened(known[one.thing], one, today) for one in _in(due, known))
    fresh = [one for thing, one in due.items() if thing not in known]
    opened = sum(_opened(one, today) for one in _unanswered(fresh, today))
    return WatchReport(opened, sharpened, closed)


def _in(due: dict[str, RegisterLine], known: dict[str, OpenItem]) -> Iterable[RegisterLine]:
    return (one for thing, one in due.items() if thing in known)


def _sharpened(item: OpenItem, line: RegisterLine, today: date) -> int:
    sentence = line.sentence(today)
    if item.sentence == sentence:
        return 0
    return OpenItem.objects.filter(pk=item.pk).update(sentence=sentence)


def _opened(line: RegisterLine, today: date) -> int:
    open_item(
        branch_id=line.branch_id,
        code=RUNS_OUT,
        thing=line.thing,
        sentence=line.sentence(today),
    )
    return 1


def _unanswered(lines: Collection[RegisterLine], today: date) -> list[RegisterLine]:
    """Lines that nobody has answered by hand since their band began."""
    closed = OpenItem.objects.filter(code=RUNS_OUT, thing__in=[one.thing for one in lines])
    by_hand = closed.exclude(closed_at=None).exclude(closed_note=RENEWED)
    answered = {
        item.thing: item.closed_at.date()
        for item in by_hand.order_by("closed_at")
        if item.closed_at
    }
    return [
        one
        for one in lines
        if one.thing not in answered or answered[one.thing] < begins_on(one.band(today), one.until)
    ]
