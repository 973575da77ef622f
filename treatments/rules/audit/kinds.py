"""The kinds of open items of this floor: words, who must act, the number of the check."""

from __future__ import annotations

from collections.abc import Mapping

from accounts.rules.item_kinds import Acts, ItemKind

INCOMPLETE, LATE = "record_incomplete", "record_late"
CREDENTIAL, RESTRICTED = "credential", "restricted_use"
NUMBER, AMOUNT, AMOUNTS = "registration_number", "amount_missing", "amounts_differ"
RATE, SIZE, NOT_ON_LABEL = "rate_off_label", "size_missing", "not_on_label"
PYRETHROID, BAND, WIND = "pyrethroid_limit", "band_too_wide", "wind"
TIMES, TOO_SOON, NAME = "times_impossible", "too_soon", "name_not_full"
COPY, CORRECTED_COPY = "copy_not_given", "corrected_copy"

# closed by themselves when an entry or a later look finds them no more
RECORD_KINDS: Mapping[str, ItemKind] = {
    INCOMPLETE: ItemKind("Record incomplete", Acts.TECHNICIAN, "A01"),
    LATE: ItemKind("Record late", Acts.MANAGER, "A02"),
    CREDENTIAL: ItemKind("License", Acts.MANAGER, "A03"),
    RESTRICTED: ItemKind("Restricted use", Acts.MANAGER, "A04"),
    NUMBER: ItemKind("Registration number", Acts.OFFICE, "A05"),
    AMOUNT: ItemKind("Amount missing", Acts.TECHNICIAN, "A06"),
    AMOUNTS: ItemKind("Amounts do not fit", Acts.TECHNICIAN, "A07"),
    RATE: ItemKind("Rate off the label", Acts.MANAGER, "A08"),
    SIZE: ItemKind("Size missing", Acts.TECHNICIAN, "A09"),
    NOT_ON_LABEL: ItemKind("Not on the label", Acts.MANAGER, "A10"),
    PYRETHROID: ItemKind("Pyrethroid limit", Acts.MANAGER, "A11"),
    BAND: ItemKind("Band too wide", Acts.MANAGER, "A12"),
    WIND: ItemKind("Wind", Acts.MANAGER, "A13"),
    TIMES: ItemKind("Times impossible", Acts.TECHNICIAN, "A14"),
    COPY: ItemKind("Copy not given", Acts.OFFICE, "A15"),
    TOO_SOON: ItemKind("Too soon or too much", Acts.MANAGER, "A16"),
    NAME: ItemKind("Name not in full", Acts.OFFICE, "A18"),
}
# opened and closed where their cause is
OTHER_KINDS: Mapping[str, ItemKind] = {
    CORRECTED_COPY: ItemKind("Corrected copy", Acts.OFFICE, "A15"),
    "stock_below_zero": ItemKind("Stock below zero", Acts.MANAGER, "A17"),
    "log_key_lost": ItemKind("Log key lost", Acts.MANAGER, "A19"),
    "log_not_signed": ItemKind("Log not signed", Acts.MANAGER, "A19"),
    "incident_notice": ItemKind("Agency notice", Acts.MANAGER, "A20"),
    "incident_notice_late": ItemKind("Agency notice late", Acts.MANAGER, "A20"),
    "totals_differ_from_log": ItemKind("Totals differ from log", Acts.MANAGER, "A21"),
    "purged_early": ItemKind("Purged early", Acts.MANAGER, "A22"),
    "correction_asked": ItemKind("Correction asked", Acts.MANAGER),
    "label_withdrawn": ItemKind("Label withdrawn", Acts.MANAGER),
    "label_unverified": ItemKind("Label unverified", Acts.MANAGER),
    "label_verified_alone": ItemKind("Label verified alone", Acts.MANAGER),
    "load_difference": ItemKind("Load difference", Acts.TECHNICIAN),
    "load_missing": ItemKind("Load missing", Acts.TECHNICIAN),
    "one_person_firm": ItemKind("One person firm", Acts.MANAGER),
    "protection_drift": ItemKind("Protection differs from windows", Acts.MANAGER),
    "record_in_closed_period": ItemKind("Record in closed period", Acts.MANAGER),
    "rest_without_stock": ItemKind("Rest without stock", Acts.MANAGER),
    "stock_difference": ItemKind("Stock difference", Acts.MANAGER),
    "unlisted_use": ItemKind("Unlisted use", Acts.MANAGER),
    "use_without_stock": ItemKind("Use without stock", Acts.MANAGER),
    "vehicle_item_missing": ItemKind("Vehicle item missing", Acts.TECHNICIAN),
}
KINDS: Mapping[str, ItemKind] = {**RECORD_KINDS, **OTHER_KINDS}
