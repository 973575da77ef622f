"""Who gets what at which address: the checked-in table; an address without a row fails.

To add a view, add a row under its URL name, in the order of the URL map:

    "property_edit": Row(get=OFFICE, post=OFFICE_FORM, takes=("property",)),

- `get`, `post`: the expected answers for (anonymous, stranger, technician, office, manager).
  A signed-out person is sent to sign in (302), a person without the permission gets 403. The
  post carries one field that no form knows, so an allowed one is answered with the form and its
  errors (422) or a refusal. `None`: the view does not take that method and answers 405.
- `takes`: what each argument of the pattern is, by the names of `tests.architecture.examples`;
  the walk asks once with an own example and once with somebody else's: the same answers, except
  that a technician who may open an own one gets 404 for another's, unless `is_everybodys`.

Use the named answers below; write out five numbers only where no name fits.
"""

from __future__ import annotations

from tests.architecture.answers import (
    ANY_ROLE,
    MANAGER,
    MANAGER_FORM,
    NO_LINK,
    NOBODY,
    NOT_OFFICE,
    OFFICE,
    OFFICE_FORM,
    OFFICE_MOVED,
    OPEN,
    OPEN_FORM,
    SIGNED_IN,
    TECHNICIAN,
    TECHNICIAN_FORM,
    TECHNICIAN_MOVED,
    Answers,
    Row,
    answers,
)

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
    "site_logbook_leave": (200, 200),
}

TABLE: dict[str, Row] = {
    # the roof: the office's pages
    "home": Row(get=answers(ANY_ROLE, 302)),
    "renewals": Row(get=OFFICE),
    "renewal": Row(get=OFFICE, takes=("renewal",)),
    "renewal_book": Row(get=OFFICE, post=OFFICE_FORM, takes=("renewal",)),
    "renewal_decline": Row(get=OFFICE, post=OFFICE_FORM, takes=("renewal",)),
    "renewal_reopen": Row(get=None, post=OFFICE_FORM, takes=("renewal",)),
    "season": Row(get=OFFICE),
    "season_rules": Row(get=OFFICE),
    "season_rule": Row(
        get=MANAGER, post=MANAGER_FORM, takes=("season_number",), is_everybodys=True
    ),
    "readings": Row(get=OFFICE),
    "reading_add": Row(get=OFFICE, post=OFFICE_FORM),
    "readings_import": Row(get=OFFICE, post=OFFICE_FORM),
    "window_days": Row(get=OFFICE, post=OFFICE_FORM, takes=("window",)),
    "property": Row(get=OFFICE, takes=("property",)),
    "property_emergency": Row(get=OFFICE, takes=("property",)),
    "property_book": Row(get=OFFICE, post=OFFICE_FORM, takes=("property",)),
    "customers": Row(get=OFFICE),
    "customer": Row(get=OFFICE, takes=("customer",)),
    "search": Row(get=OFFICE),
    "day": Row(get=OFFICE, post=OFFICE),
    "load_list": Row(get=OFFICE),
    "own_load_list": Row(get=TECHNICIAN),
    "visit": Row(get=OFFICE, takes=("visit",)),
    "visit_cancel": Row(get=OFFICE, post=OFFICE_FORM, takes=("visit",)),
    "visit_notice": Row(get=ANY_ROLE, takes=("visit",)),
    # a week without a ticked day is a week without work: saved
    "shifts": Row(get=OFFICE, post=OFFICE_MOVED, takes=("person",)),
    "time_off_add": Row(get=OFFICE, post=OFFICE_FORM, takes=("person",)),
    "time_off_remove": Row(get=None, post=OFFICE_MOVED, takes=("time_off",)),
    "uselog": Row(get=MANAGER),
    "uselog_csv": Row(get=MANAGER),
    "desk": Row(get=MANAGER),
    # without a question there is nothing to hand over
    "desk_paper": Row(get=None, post=MANAGER_FORM),
    "desk_bundle": Row(get=None, post=MANAGER_FORM),
    "desk_label": Row(get=None, post=MANAGER, takes=("branch", "label", "file_kind")),
    "desk_notice": Row(get=None, post=MANAGER, takes=("branch", "visit")),
    "desk_visits": Row(get=MANAGER, post=MANAGER_FORM),
    "desk_visit_end": Row(get=None, post=answers(MANAGER, 302), takes=("inspector_visit",)),
    # an inspector has no account: see GUEST
    "inspection": Row(get=NOBODY),
    "inspection_paper": Row(get=None, post=NOBODY),
    "inspection_bundle": Row(get=None, post=NOBODY),
    "inspection_label": Row(get=None, post=NOBODY, takes=("label", "file_kind")),
    "inspection_notice": Row(get=None, post=NOBODY, takes=("visit",)),
    "inspection_leave": Row(get=None, post=NOBODY),
    "inspection_enter": Row(
        get=OPEN, post=answers(OPEN, 302), takes=("inspector_token",), is_everybodys=True
    ),
    "property_logbook": Row(get=OFFICE, takes=("property",)),
    "property_logbook_pdf": Row(get=OFFICE, takes=("property",)),
    "logbook_plan": Row(get=OFFICE, post=OFFICE_FORM, takes=("property",)),
    "logbook_review": Row(get=OFFICE, post=OFFICE_FORM, takes=("property",)),
    "logbook_action": Row(get=OFFICE, post=OFFICE_FORM, takes=("property",)),
    "logbook_link": Row(get=OFFICE, post=OFFICE_FORM, takes=("property",)),
    "logbook_code": Row(get=None, post=OFFICE_MOVED, takes=("property",)),
    "logbook_code_end": Row(get=None, post=OFFICE_MOVED, takes=("property",)),
    "logbook_link_end": Row(get=None, post=OFFICE_MOVED, takes=("contact_link",)),
    "action_step": Row(get=OFFICE, post=OFFICE_FORM, takes=("action",)),
    "sighting": Row(get=ANY_ROLE, post=answers(ANY_ROLE, 422), takes=("sighting",)),
    # the contact of a customer has no account: see CONTACT
    "site_logbook": Row(get=NO_LINK),
    "site_logbook_paper": Row(get=None, post=NO_LINK),
    "site_logbook_label": Row(
        get=None, post=NO_LINK, takes=("label", "file_kind"), is_everybodys=True
    ),
    "site_logbook_notice": Row(get=None, post=NO_LINK, takes=("visit",), is_everybodys=True),
    "site_logbook_tell": Row(get=NO_LINK, post=NO_LINK),
    "site_logbook_leave": Row(get=None, post=NO_LINK),
    "site_logbook_enter": Row(
        get=OPEN, post=answers(OPEN, 302), takes=("contact_token",), is_everybodys=True
    ),
    "code_sighting": Row(get=OPEN, post=OPEN_FORM),
    # the roof: the technician's pages
    "today": Row(get=TECHNICIAN),
    "day_emergency": Row(get=TECHNICIAN),
    "stop": Row(get=TECHNICIAN, takes=("visit",)),
    "stop_start": Row(get=None, post=TECHNICIAN_MOVED, takes=("visit",)),
    "stop_not_done": Row(get=None, post=TECHNICIAN_FORM, takes=("visit",)),
    "stop_identify": Row(get=TECHNICIAN, takes=("visit",)),
    "stop_identify_record": Row(get=TECHNICIAN, post=TECHNICIAN_FORM, takes=("visit",)),
    "stop_incident": Row(get=TECHNICIAN, post=TECHNICIAN_FORM, takes=("visit",)),
    "stop_water": Row(get=TECHNICIAN, post=TECHNICIAN_FORM, takes=("visit",)),
    "mix": Row(get=TECHNICIAN, takes=("visit",)),
    # what was found in a building: the office's branches, a technician's stops of these weeks
    "stop_inspect": Row(get=None, post=TECHNICIAN_MOVED, takes=("visit",)),
    "inspections_of": Row(get=ANY_ROLE, post=answers(ANY_ROLE, 422), takes=("property",)),
    "inspection_round": Row(get=ANY_ROLE, post=answers(ANY_ROLE, 422), takes=("round",)),
    "inspection_report_make": Row(get=None, post=answers(ANY_ROLE, 422), takes=("round",)),
    "inspection_report": Row(get=ANY_ROLE, takes=("kept_report",)),
    "finding_add": Row(get=ANY_ROLE, post=answers(ANY_ROLE, 422), takes=("round",)),
    "finding": Row(get=ANY_ROLE, takes=("finding",)),
    "finding_task": Row(get=ANY_ROLE, post=answers(ANY_ROLE, 422), takes=("finding",)),
    "finding_zone": Row(get=ANY_ROLE, post=answers(ANY_ROLE, 422), takes=("finding",)),
    "finding_close": Row(get=ANY_ROLE, post=answers(ANY_ROLE, 422), takes=("finding",)),
    "exclusion_tasks": Row(get=OFFICE),
    "exclusion_task": Row(get=ANY_ROLE, post=answers(ANY_ROLE, 422), takes=("task",)),
    "photo": Row(get=ANY_ROLE, takes=("photo",)),
    # without a choice in the query there is nothing to decide: back to the mix
    "stop_decide": Row(get=TECHNICIAN_MOVED, post=TECHNICIAN_MOVED, takes=("visit",)),
    # without zones and a direction in the query there is nothing to mix
    "mix_load": Row(get=None, post=TECHNICIAN_FORM, takes=("visit",)),
    "own_loads": Row(get=TECHNICIAN),
    "load": Row(get=TECHNICIAN, post=TECHNICIAN_FORM, takes=("load",)),
    "branch_loads": Row(get=OFFICE),
    "branch_load": Row(get=OFFICE, takes=("load",)),
    "load_end": Row(get=MANAGER, post=MANAGER_FORM, takes=("load",)),
    # without zones and a direction in the query there is nothing to write on a tag
    "mix_tag": Row(get=answers(TECHNICIAN, 422), takes=("visit",)),
    # without zones and a direction in the query the record page leads back to the mix
    "record_stop": Row(get=TECHNICIAN_MOVED, post=TECHNICIAN_MOVED, takes=("visit",)),
    "other_work": Row(get=TECHNICIAN, post=TECHNICIAN_FORM, takes=("visit",)),
    # the second floor
    # a technician sees, completes and asks about own records, the office those of its branch
    "record": Row(get=ANY_ROLE, takes=("record",)),
    "record_pdf": Row(get=ANY_ROLE, takes=("record",)),
    "record_copy": Row(get=ANY_ROLE, post=answers(ANY_ROLE, 422), takes=("record",)),
    "record_copy_pdf": Row(get=ANY_ROLE, takes=("record",)),
    "record_fill": Row(get=ANY_ROLE, post=answers(ANY_ROLE, 422), takes=("record",)),
    "record_correct": Row(get=ANY_ROLE, post=answers(ANY_ROLE, 422), takes=("record",)),
    "record_void": Row(get=ANY_ROLE, post=answers(ANY_ROLE, 422), takes=("record",)),
    "corrections": Row(get=ANY_ROLE),
    "to_complete": Row(get=ANY_ROLE),
    "correction": Row(get=ANY_ROLE, takes=("correction",)),
    "correction_decline": Row(get=MANAGER, post=MANAGER_FORM, takes=("correction",)),
    "correction_approve": Row(get=None, post=answers(MANAGER, 302), takes=("correction",)),
    "periods": Row(get=MANAGER),
    "period_close": Row(get=MANAGER, post=MANAGER_FORM, takes=("branch",)),
    "period_reopen": Row(get=MANAGER, post=MANAGER_FORM, takes=("branch",)),
    "hold_set": Row(get=MANAGER, post=MANAGER_FORM, takes=("record",)),
    "hold_release": Row(get=MANAGER, post=MANAGER_FORM, takes=("hold",)),
    # the office reads incidents, a technician those they reported
    "incidents": Row(get=ANY_ROLE),
    "incident": Row(get=ANY_ROLE, takes=("incident",)),
    "incident_add": Row(get=NOT_OFFICE, post=answers(NOT_OFFICE, 422)),
    "incident_addendum": Row(get=NOT_OFFICE, post=answers(NOT_OFFICE, 422), takes=("incident",)),
    "incident_notice": Row(get=MANAGER, post=MANAGER_FORM, takes=("incident",)),
    "incident_close": Row(get=MANAGER, post=MANAGER_FORM, takes=("incident",)),
    "incident_reopen": Row(get=MANAGER, post=MANAGER_FORM, takes=("incident",)),
    "log_proof": Row(get=MANAGER, post=MANAGER),
    "log_bundle": Row(get=None, post=MANAGER_FORM),
    # figures of the firm's branches, for who sees the use log
    "use_report": Row(get=MANAGER, takes=("report",), is_everybodys=True),
    "use_report_file": Row(get=MANAGER, takes=("report", "report_form"), is_everybodys=True),
    # labels are for everybody in the firm to read; a used one never changes
    "labels": Row(get=ANY_ROLE),
    "product": Row(get=ANY_ROLE, takes=("product",), is_everybodys=True),
    "product_emergency": Row(get=ANY_ROLE, takes=("product",), is_everybodys=True),
    "label": Row(get=ANY_ROLE, takes=("label",), is_everybodys=True),
    "label_compare": Row(get=ANY_ROLE, takes=("label",), is_everybodys=True),
    "label_json": Row(get=ANY_ROLE, takes=("label",), is_everybodys=True),
    "label_file": Row(get=ANY_ROLE, takes=("label", "file_kind"), is_everybodys=True),
    "residual_factors": Row(get=ANY_ROLE),
    "residual_factor_add": Row(get=MANAGER, post=MANAGER_FORM),
    "profiles": Row(get=ANY_ROLE),
    "profile": Row(get=ANY_ROLE, takes=("profile",), is_everybodys=True),
    "profile_supersede": Row(get=MANAGER, post=MANAGER_FORM, takes=("profile",)),
    "profile_verify": Row(get=None, post=answers(MANAGER, 302), takes=("profile",)),
    "label_import": Row(get=MANAGER, post=MANAGER_FORM),
    "product_add": Row(get=MANAGER, post=MANAGER_FORM),
    "product_edit": Row(get=MANAGER, post=MANAGER_FORM, takes=("draft_product",)),
    "ingredient_add": Row(get=MANAGER, post=MANAGER_FORM, takes=("draft_product",)),
    "ingredient_edit": Row(get=MANAGER, post=MANAGER_FORM, takes=("ingredient",)),
    "ingredient_remove": Row(get=None, post=answers(MANAGER, 302), takes=("ingredient",)),
    "label_add": Row(get=MANAGER, post=MANAGER_FORM, takes=("draft_product",)),
    "label_edit": Row(get=MANAGER, post=MANAGER_FORM, takes=("draft",)),
    "label_verify": Row(get=MANAGER, post=answers(MANAGER, 302), takes=("label",)),
    "label_complete": Row(get=None, post=MANAGER_FORM, takes=("label",)),
    "label_supersede": Row(get=MANAGER, post=MANAGER_FORM, takes=("label",)),
    "label_withdraw": Row(get=MANAGER, post=MANAGER_FORM, takes=("label",)),
    "label_lift": Row(get=MANAGER, post=MANAGER_FORM, takes=("label",)),
    "label_file_add": Row(get=MANAGER, post=MANAGER_FORM, takes=("draft",)),
    "direction_add": Row(get=MANAGER, post=MANAGER_FORM, takes=("draft",)),
    "direction_edit": Row(get=MANAGER, post=MANAGER_FORM, takes=("direction",)),
    "direction_rate": Row(get=MANAGER, post=MANAGER_FORM, takes=("direction",)),
    "direction_remove": Row(get=None, post=answers(MANAGER, 302), takes=("direction",)),
    "limit_add": Row(get=MANAGER, post=MANAGER_FORM, takes=("draft",)),
    "fill_turn_add": Row(get=MANAGER, post=MANAGER_FORM, takes=("draft",)),
    "limit_edit": Row(get=MANAGER, post=MANAGER_FORM, takes=("limit",)),
    "limit_remove": Row(get=None, post=answers(MANAGER, 302), takes=("limit",)),
    "protection_add": Row(get=MANAGER, post=MANAGER_FORM, takes=("draft",)),
    "protection_edit": Row(get=MANAGER, post=MANAGER_FORM, takes=("protection",)),
    "protection_remove": Row(get=None, post=answers(MANAGER, 302), takes=("protection",)),
    "unlisted_uses": Row(get=OFFICE),
    "unlisted_use": Row(get=OFFICE, post=OFFICE_FORM, takes=("question",)),
    "stock": Row(get=OFFICE),
    "lot_receive": Row(get=MANAGER, post=MANAGER_FORM),
    "receipts": Row(get=OFFICE),
    "stock_place_add": Row(get=MANAGER, post=MANAGER_FORM),
    "stock_place_edit": Row(get=MANAGER, post=MANAGER_FORM, takes=("vehicle",)),
    "take_aboard": Row(get=TECHNICIAN, post=TECHNICIAN_FORM),
    # a technician sees and checks the vehicle they drive
    "vehicle": Row(get=ANY_ROLE, takes=("vehicle",)),
    "vehicle_check": Row(
        get=(302, 403, 200, 403, 200), post=(302, 403, 422, 403, 422), takes=("vehicle",)
    ),
    # nothing to ask for: the button takes what the record says
    "record_take": Row(get=None, post=answers(MANAGER, 302), takes=("record",)),
    "reorder_level": Row(get=MANAGER, post=MANAGER_FORM),
    "lot": Row(get=OFFICE, takes=("lot",)),
    "lot_transfer": Row(get=MANAGER, post=MANAGER_FORM, takes=("lot",)),
    "lot_adjust": Row(get=MANAGER, post=MANAGER_FORM, takes=("lot",)),
    "lot_dispose": Row(get=MANAGER, post=MANAGER_FORM, takes=("lot",)),
    "move_take_back": Row(get=MANAGER, post=MANAGER_FORM, takes=("move",)),
    "equipment": Row(get=OFFICE),
    "equipment_add": Row(get=MANAGER, post=MANAGER_FORM),
    "equipment_one": Row(get=OFFICE, takes=("equipment",)),
    "equipment_edit": Row(get=MANAGER, post=MANAGER_FORM, takes=("equipment",)),
    "calibrate": Row(get=MANAGER, post=MANAGER_FORM, takes=("equipment",)),
    # the first floor
    "pests": Row(get=ANY_ROLE),
    "pest_add": Row(get=MANAGER, post=MANAGER_FORM),
    # the key is for everybody in the firm to read; a technician sees own identifications
    "identify": Row(get=ANY_ROLE),
    "property_identify": Row(get=OFFICE, takes=("property",)),
    "property_identify_record": Row(get=OFFICE, post=OFFICE_FORM, takes=("property",)),
    "identification": Row(get=ANY_ROLE, takes=("identification",)),
    "identification_key": Row(get=ANY_ROLE),
    "taxon_add": Row(get=MANAGER, post=MANAGER_FORM),
    "taxon": Row(get=ANY_ROLE, takes=("taxon",), is_everybodys=True),
    "taxon_edit": Row(get=MANAGER, post=MANAGER_FORM, takes=("taxon",)),
    "trait_add": Row(get=MANAGER, post=MANAGER_FORM),
    "trait_edit": Row(get=MANAGER, post=MANAGER_FORM, takes=("trait",)),
    "property_add": Row(get=OFFICE, post=OFFICE_FORM, takes=("customer",)),
    "property_edit": Row(get=OFFICE, post=OFFICE_FORM, takes=("property",)),
    "property_access": Row(get=OFFICE, post=OFFICE_MOVED, takes=("property",)),
    "property_water": Row(get=OFFICE, post=OFFICE_MOVED, takes=("property",)),
    "caution_add": Row(get=OFFICE, post=OFFICE_FORM, takes=("property",)),
    "caution_remove": Row(get=OFFICE, post=OFFICE_MOVED, takes=("caution",)),
    "preference_add": Row(get=OFFICE, post=OFFICE_FORM, takes=("property",)),
    "preference_remove": Row(get=OFFICE, post=OFFICE_MOVED, takes=("preference",)),
    "unit_add": Row(get=OFFICE, post=OFFICE_FORM, takes=("property",)),
    "unit_edit": Row(get=OFFICE, post=OFFICE_FORM, takes=("unit",)),
    "zone_add": Row(get=OFFICE, post=OFFICE_FORM, takes=("property",)),
    "zone_edit": Row(get=OFFICE, post=OFFICE_FORM, takes=("zone",)),
    "zone_retire": Row(get=OFFICE, post=OFFICE_MOVED, takes=("zone",)),
    "register": Row(get=OFFICE),
    "register_csv": Row(get=OFFICE),
    "register_pdf": Row(get=OFFICE),
    "own_papers": Row(get=ANY_ROLE),
    # the ground floor
    "attention": Row(get=OFFICE),
    "attention_close": Row(get=OFFICE, post=OFFICE_FORM, takes=("item",)),
    "notices": Row(get=OFFICE),
    "notice": Row(get=OFFICE, takes=("notice",)),
    "notice_paper": Row(get=OFFICE, takes=("notice",)),
    # nothing to ask for: it waits already
    "notice_again": Row(get=None, post=OFFICE_FORM, takes=("notice",)),
    "notice_came_back": Row(get=OFFICE, post=OFFICE_FORM, takes=("notice",)),
    "notice_templates": Row(get=OFFICE),
    "notice_template": Row(get=MANAGER, post=MANAGER_FORM, takes=("notice_kind",)),
    "people": Row(get=OFFICE),
    "person": Row(get=OFFICE, takes=("person",)),
    "person_invite": Row(get=OFFICE, post=OFFICE_FORM),
    # a link to sign in as somebody is a manager's to make, as are the roles behind it
    "person_invite_again": Row(get=OFFICE, post=MANAGER_FORM, takes=("person",)),
    "person_edit": Row(get=OFFICE, post=OFFICE_FORM, takes=("person",)),
    # no role ticked is a person without roles; letting go asks for nothing but the button
    "person_roles": Row(get=MANAGER, post=answers(MANAGER, 302), takes=("person",)),
    "person_deactivate": Row(get=OFFICE, post=OFFICE_MOVED, takes=("person",)),
    "person_reactivate": Row(get=OFFICE, post=MANAGER_FORM, takes=("person",)),
    "license_add": Row(get=OFFICE, post=OFFICE_FORM, takes=("person",)),
    "license_edit": Row(get=OFFICE, post=OFFICE_FORM, takes=("license",)),
    "respirator_add": Row(get=OFFICE, post=OFFICE_FORM, takes=("person",)),
    "respirator_correct": Row(get=OFFICE, post=OFFICE_FORM, takes=("paper",)),
    "respirator_end": Row(get=OFFICE, post=OFFICE_FORM, takes=("paper",)),
    "paper_add": Row(get=OFFICE, post=OFFICE_FORM, takes=("person", "paper_table")),
    "paper_correct": Row(get=OFFICE, post=OFFICE_FORM, takes=("paper_table", "training")),
    "paper_void": Row(get=OFFICE, post=OFFICE_FORM, takes=("paper_table", "training")),
    "firm_papers": Row(get=OFFICE),
    "firm_paper_add": Row(get=OFFICE, post=OFFICE_FORM),
    "firm_paper_renew": Row(get=OFFICE, post=OFFICE_FORM, takes=("firm_paper",)),
    "invitation": Row(get=OPEN, post=OPEN_FORM, takes=("invited", "token")),
    "branches": Row(get=MANAGER),
    "branch_add": Row(get=MANAGER, post=MANAGER_FORM),
    "branch_edit": Row(get=MANAGER, post=MANAGER_FORM, takes=("branch",)),
    "customer_add": Row(get=OFFICE, post=OFFICE_FORM),
    "customer_edit": Row(get=OFFICE, post=OFFICE_FORM, takes=("customer",)),
    "contact_add": Row(get=OFFICE, post=OFFICE_FORM, takes=("customer",)),
    "contact_edit": Row(get=OFFICE, post=OFFICE_FORM, takes=("contact",)),
}

# Views of packages, by namespace: what they answer depends on being signed in, never on a role.
# Here `takes` are the arguments themselves.
TO_SIGN_IN: Answers = (302, 302, 302, 302, 302)
AGAIN = TO_SIGN_IN  # signed in or not: give the password again first
HOME_IF_SIGNED_IN: Answers = (200, 302, 302, 302, 302)
NOT_TAKEN: Answers = (405, 405, 405, 405, 405)
NOT_TAKEN_SIGNED_IN = answers(SIGNED_IN, 405)
NOT_SET_UP = answers(SIGNED_IN, 404)
PACKAGES: dict[str, dict[str, Row]] = {
    "allauth": {
        "account_login": Row(HOME_IF_SIGNED_IN, HOME_IF_SIGNED_IN),
        "account_logout": Row(SIGNED_IN, TO_SIGN_IN),
        "account_inactive": Row(OPEN, NOT_TAKEN),
        "account_signup": Row(HOME_IF_SIGNED_IN, HOME_IF_SIGNED_IN),
        "account_reauthenticate": Row(SIGNED_IN, SIGNED_IN),
        "account_email": Row(SIGNED_IN, TO_SIGN_IN),
        "account_email_verification_sent": Row(OPEN, NOT_TAKEN),
        "account_change_password": Row(SIGNED_IN, SIGNED_IN),
        "account_set_password": Row(TO_SIGN_IN, TO_SIGN_IN),
        "account_reset_password": Row(OPEN, OPEN),
        "account_reset_password_done": Row(OPEN, NOT_TAKEN),
        "account_reset_password_from_key": Row(OPEN, OPEN, takes=("1", "abc-def")),
        "account_reset_password_from_key_done": Row(OPEN, NOT_TAKEN),
        "account_confirm_login_code": Row(TO_SIGN_IN, TO_SIGN_IN),
        "account_confirm_email": Row(OPEN, (404, 404, 404, 404, 404), takes=("unknown",)),
        "mfa_index": Row(SIGNED_IN, NOT_TAKEN_SIGNED_IN),
        "mfa_authenticate": Row(TO_SIGN_IN, TO_SIGN_IN),
        "mfa_reauthenticate": Row(AGAIN, AGAIN),
        "mfa_activate_totp": Row(AGAIN, AGAIN),
        "mfa_deactivate_totp": Row(NOT_SET_UP, NOT_SET_UP),
        "mfa_view_recovery_codes": Row(NOT_SET_UP, NOT_TAKEN_SIGNED_IN),
        "mfa_generate_recovery_codes": Row(AGAIN, AGAIN),
        "mfa_download_recovery_codes": Row(NOT_SET_UP, NOT_SET_UP),
        "mfa_list_webauthn": Row(SIGNED_IN, NOT_TAKEN_SIGNED_IN),
        "mfa_add_webauthn": Row(AGAIN, AGAIN),
        "mfa_reauthenticate_webauthn": Row(AGAIN, AGAIN),
        "mfa_remove_webauthn": Row(AGAIN, AGAIN, takes=("1",)),
        "mfa_edit_webauthn": Row(AGAIN, AGAIN, takes=("1",)),
        "usersessions_list": Row(SIGNED_IN, TO_SIGN_IN),
    }
}
