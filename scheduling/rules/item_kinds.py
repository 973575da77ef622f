"""The kinds of open items under the roof: words and who must act."""

from __future__ import annotations

from collections.abc import Mapping

from accounts.rules.item_kinds import Acts, ItemKind

KINDS: Mapping[str, ItemKind] = {
    "keepers_to_tell": ItemKind("Keepers of hives to tell", Acts.OFFICE),
    "device_bait_unrecorded": ItemKind("Bait without its record", Acts.TECHNICIAN),
    "agreement_renewal": ItemKind("Agreement renewal", Acts.OFFICE),
    "booked_renewal_changed": ItemKind("Booked renewal changed", Acts.OFFICE),
    "renewals_not_booked": ItemKind("Renewals not booked in time", Acts.OFFICE),
    "rain_after_treatment": ItemKind("Rain after a treatment", Acts.OFFICE),
    "other_time_asked": ItemKind("Another time asked for", Acts.OFFICE),
    "task_said_done": ItemKind("Task said to be done", Acts.OFFICE),
    "visit_in_time_off": ItemKind("Visit in time off", Acts.OFFICE),
    "visit_without_license": ItemKind("Visit without license", Acts.OFFICE),
}
