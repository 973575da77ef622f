"""The page of one visit, and what canceling it would do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from accounts.selectors.notices import NoticeRow, notices_about
from scheduling.models import VisitIdentification
from scheduling.rules.day_words import local
from scheduling.rules.visit_states import TRANSITIONS, VisitState
from scheduling.selectors.contact_rows import ContactRow, contact_rows
from scheduling.selectors.preparing import answer_to, prep_items
from scheduling.selectors.visit_words import VisitWords, visit_words
from scheduling.selectors.visits import visit_for
from treatments.selectors.records import UseRow, records_of_visit, use_rows

if TYPE_CHECKING:
    from accounts.models import Person
    from scheduling.models import Visit, VisitAnswer
    from scheduling.rules.prep import PrepItem
    from sites.models import Identification


@dataclass(frozen=True)
class VisitPage:
    """Everything the sheet of one visit shows."""

    visit: Visit
    words: VisitWords
    records: Sequence[UseRow]
    contacts: Sequence[ContactRow]
    identified: Sequence[Identification]
    letters: Sequence[NoticeRow]
    items: Sequence[PrepItem]
    answer: VisitAnswer | None

    @property
    def can_cancel(self) -> bool:
        return VisitState.CANCELED in TRANSITIONS[VisitState(self.visit.state)]

    @property
    def can_move(self) -> bool:
        return self.visit.state == VisitState.BOOKED

    @property
    def place(self) -> dict[str, Any]:
        """Where it stands now, as the fields of the form that moves it."""
        zone = self.visit.property.branch.time_zone
        return {
            "technician": self.visit.technician_id,
            "day": self.visit.day,
            "window_opens": f"{local(self.visit.window_opens_at, zone):%H:%M}",
            "window_closes": f"{local(self.visit.window_closes_at, zone):%H:%M}",
        }

    @property
    def has_notice(self) -> bool:
        return bool(self.records)


def visit_page(person: Person, pk: int) -> VisitPage:
    """Read the page of a visit the person may see, in a fixed number of queries."""
    visit = visit_for(person, pk)
    return VisitPage(
        visit=visit,
        words=visit_words(visit, visit.property.branch.time_zone),
        records=use_rows(records_of_visit(str(visit.ref))),
        contacts=contact_rows(visit.property.customer_id),
        identified=_identified(visit),
        letters=notices_about([f"scheduling.visit:{visit.pk}"]),
        items=prep_items(visit),
        answer=answer_to(visit),
    )


def _identified(visit: Visit) -> list[Identification]:
    rows = VisitIdentification.objects.filter(visit=visit).order_by("pk")
    about = rows.select_related("identification__by", "identification__zone")
    return [row.identification for row in about]
