"""What somebody without an account gets by a link: the third part of the checked-in table."""

from __future__ import annotations

# What an inspector gets at the desk of a branch, for things of that branch and of another one;
# everywhere else the answer is that of somebody who is not signed in.
GUEST: dict[str, tuple[int, int]] = {
    "inspection": (200, 200),
    "inspection_paper": (422, 422),
    "inspection_bundle": (422, 422),
    "inspection_label": (200, 404),
    "inspection_notice": (200, 404),
    "inspection_leave": (302, 302),
}

# What the contact of a customer gets by a link: for the link's own property and for another one.
CONTACT: dict[str, tuple[int, int]] = {
    "site_logbook": (200, 200),
    "site_logbook_paper": (200, 200),
    "site_logbook_label": (200, 404),
    "site_logbook_notice": (200, 404),
    "site_logbook_tell": (200, 200),
    "site_logbook_visit": (200, 200),
    "site_logbook_confirm": (404, 404),
    "site_logbook_other_time": (404, 404),
    "site_logbook_prepared": (404, 404),
    "site_logbook_task_done": (302, 404),
    "site_logbook_letter": (200, 404),
    "site_logbook_leave": (200, 200),
}
