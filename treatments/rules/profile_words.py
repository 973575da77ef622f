"""The words of a jurisdiction profile: what a rule can ask, of which job, how sure we are."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum


class Item(StrEnum):
    """One thing a rule can ask of a record of use; the list is ours."""

    CUSTOMER_NAME = "customer_name"
    CUSTOMER_ADDRESS = "customer_address"
    CUSTOMER_PHONE = "customer_phone"
    SERVICE_ADDRESS = "service_address"
    ZIP_CODE = "zip_code"
    MUNICIPALITY = "municipality"
    COUNTY = "county"
    LOCATION_DETAIL = "location_detail"
    APPLICATION_DATE = "application_date"
    START_TIME = "start_time"
    END_TIME = "end_time"
    PRODUCT_NAME = "product_name"
    REGISTRATION_NUMBER = "registration_number"
    ACTIVE_INGREDIENT = "active_ingredient"
    PERCENT_ACTIVE = "percent_active"
    PRODUCT_AMOUNT = "product_amount"
    ACTIVE_AMOUNT = "active_amount"
    FINISHED_AMOUNT = "finished_amount"
    DILUTION = "dilution"
    APPLICATION_RATE = "application_rate"
    AREA_TREATED = "area_treated"
    TARGET_PEST = "target_pest"
    SITE_TREATED = "site_treated"
    METHOD_EQUIPMENT = "method_equipment"
    APPLICATOR_NAME = "applicator_name"
    APPLICATOR_LICENSE = "applicator_license"
    SUPERVISOR = "supervisor"
    PARTICIPANTS = "participants"
    WIND_SPEED = "wind_speed"
    WIND_DIRECTION = "wind_direction"
    AIR_TEMPERATURE = "air_temperature"
    CONDITIONS = "conditions"
    REENTRY = "reentry"
    MIXING_LOCATION = "mixing_location"
    PRODUCT_SUPPLIER = "product_supplier"
    BUSINESS_LICENSE = "business_license"
    BUSINESS_ADDRESS = "business_address"
    SIGNATURE = "signature"


class Mark(StrEnum):
    """How an item is asked.

    A `conditional` one has its predicate, an `alternative` stands in a group of which one way is
    enough, `if_any` is asked but may be empty (nobody helped), and the last two only warn.
    """

    REQUIRED = "required"
    CONDITIONAL = "conditional"
    ALTERNATIVE = "alternative"
    ONE_TIME = "one_time"
    IF_ANY = "if_any"
    REQUIRED_UNVERIFIED = "required_unverified"
    UNKNOWN = "unknown"


# how a gap begins of which it is not even known whether it is asked
NOT_KNOWN = "Missing, and it is not known whether it is asked"
UNSURE = frozenset({Mark.REQUIRED_UNVERIFIED, Mark.UNKNOWN})


class Reach(StrEnum):
    """Whose rule it is: the federal one, a state's, the firm's own."""

    FEDERAL = "federal"
    STATE = "state"
    FIRM = "firm"


class Evidence(StrEnum):
    """How a fact is known."""

    READ = "read"
    DERIVED = "derived"
    MEMORY = "memory"
    HOUSE = "house"
    UNKNOWN = "unknown"


class Anchor(StrEnum):
    """The day a retention is counted from."""

    APPLICATION_DATE = "application_date"
    RECORD_CREATED = "record_created"
    CALENDAR_YEAR_END = "calendar_year_end"
    AGREEMENT_END = "agreement_end"
    LAST_TREATMENT = "last_treatment"


class DeadlineKind(StrEnum):
    """How the time to complete a record is counted."""

    NONE = ""
    SAME_DAY = "same_day"
    HOURS_AFTER_END = "hours_after_end"
    HOURS_AFTER_DATE = "hours_after_date"
    DAYS = "days"
    BUSINESS_DAYS = "business_days"


class Allowance(StrEnum):
    """Whether a rule allows what a label does not mention."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"


ITEM_WORDS: Mapping[StrEnum, str] = {
    Item.CUSTOMER_NAME: "Customer",
    Item.CUSTOMER_ADDRESS: "Customer's address",
    Item.CUSTOMER_PHONE: "Customer's phone",
    Item.SERVICE_ADDRESS: "Place of the work",
    Item.ZIP_CODE: "ZIP code, five digits",
    Item.MUNICIPALITY: "Municipality",
    Item.COUNTY: "County",
    Item.LOCATION_DETAIL: "Where exactly",
    Item.APPLICATION_DATE: "Date",
    Item.START_TIME: "Start",
    Item.END_TIME: "End",
    Item.PRODUCT_NAME: "Product",
    Item.REGISTRATION_NUMBER: "Registration number",
    Item.ACTIVE_INGREDIENT: "Active ingredient",
    Item.PERCENT_ACTIVE: "Percent active as applied",
    Item.PRODUCT_AMOUNT: "Undiluted product",
    Item.ACTIVE_AMOUNT: "Amount of active ingredient",
    Item.FINISHED_AMOUNT: "Finished spray",
    Item.DILUTION: "Dilution",
    Item.APPLICATION_RATE: "Rate",
    Item.AREA_TREATED: "Size treated",
    Item.TARGET_PEST: "Pest",
    Item.SITE_TREATED: "Use site",
    Item.METHOD_EQUIPMENT: "Method and equipment",
    Item.APPLICATOR_NAME: "Applicator",
    Item.APPLICATOR_LICENSE: "Applicator's license",
    Item.SUPERVISOR: "Certified applicator in charge",
    Item.PARTICIPANTS: "Who helped",
    Item.WIND_SPEED: "Wind speed",
    Item.WIND_DIRECTION: "Wind direction",
    Item.AIR_TEMPERATURE: "Air temperature",
    Item.CONDITIONS: "Sky and weather",
    Item.REENTRY: "Re-entry",
    Item.MIXING_LOCATION: "Where it was mixed",
    Item.PRODUCT_SUPPLIER: "Supplier of the product",
    Item.BUSINESS_LICENSE: "Business license",
    Item.BUSINESS_ADDRESS: "Business address",
    Item.SIGNATURE: "Signature",
}
MARK_WORDS: Mapping[StrEnum, str] = {
    Mark.REQUIRED: "Asked",
    Mark.CONDITIONAL: "Asked on a condition",
    Mark.ALTERNATIVE: "One of several ways",
    Mark.ONE_TIME: "One clock time",
    Mark.IF_ANY: "Asked, may be none",
    Mark.REQUIRED_UNVERIFIED: "Believed asked, not verified",
    Mark.UNKNOWN: "Not known",
}
REACH_WORDS: Mapping[StrEnum, str] = {
    Reach.FEDERAL: "Federal",
    Reach.STATE: "State",
    Reach.FIRM: "The firm's own",
}
EVIDENCE_WORDS: Mapping[StrEnum, str] = {
    Evidence.READ: "Read",
    Evidence.DERIVED: "Derived from what was read",
    Evidence.MEMORY: "From memory, unverified",
    Evidence.HOUSE: "House rule",
    Evidence.UNKNOWN: "Not known",
}
ANCHOR_WORDS: Mapping[StrEnum, str] = {
    Anchor.APPLICATION_DATE: "the day of the work",
    Anchor.RECORD_CREATED: "the day of the record",
    Anchor.CALENDAR_YEAR_END: "the end of the year",
    Anchor.AGREEMENT_END: "the end of the agreement",
    Anchor.LAST_TREATMENT: "the last treatment",
}
DEADLINE_WORDS: Mapping[StrEnum, str] = {
    DeadlineKind.NONE: "No time stated",
    DeadlineKind.SAME_DAY: "The same day",
    DeadlineKind.HOURS_AFTER_END: "Hours after the work",
    DeadlineKind.HOURS_AFTER_DATE: "Hours after the day of the work",
    DeadlineKind.DAYS: "Days",
    DeadlineKind.BUSINESS_DAYS: "Business days",
}
ALLOWANCE_WORDS: Mapping[StrEnum, str] = {
    Allowance.YES: "Allowed",
    Allowance.NO: "Not allowed",
    Allowance.UNKNOWN: "Not known",
}
