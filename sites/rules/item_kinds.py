"""The kinds of open items of the first floor: words and who must act."""

from __future__ import annotations

from collections.abc import Mapping

from accounts.rules.item_kinds import Acts, ItemKind

KINDS: Mapping[str, ItemKind] = {
    "wood_destroying_finding": ItemKind("Wood-destroying finding", Acts.OFFICE),
    "sighting": ItemKind("Sighting without answer", Acts.OFFICE),
    "site_review_due": ItemKind("Yearly review due", Acts.OFFICE),
}
