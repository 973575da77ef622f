"""The tables under the roof."""

from scheduling.models.agreements import (
    AGREEMENT_GUARDS,
    AgreementAcceptance,
    AgreementPaper,
    AgreementStep,
    ServiceAgreement,
    ServiceProgram,
)
from scheduling.models.days import Route, RouteStop, Shift, TimeOff
from scheduling.models.inspections import VisitInspection, VisitTask
from scheduling.models.preparing import PrepList, PrepMark, VisitAnswer
from scheduling.models.renewals import Renewal, RenewalZone
from scheduling.models.season import SEASON_GUARDS, SeasonRule, TemperatureReading
from scheduling.models.slots import SlotOffer
from scheduling.models.visits import (
    VISIT_GUARDS,
    BaitRecord,
    Visit,
    VisitApplication,
    VisitIdentification,
)

GUARDS = (*VISIT_GUARDS, *SEASON_GUARDS, *AGREEMENT_GUARDS)

__all__ = [
    "GUARDS",
    "AgreementAcceptance",
    "AgreementPaper",
    "AgreementStep",
    "BaitRecord",
    "PrepList",
    "PrepMark",
    "Renewal",
    "RenewalZone",
    "Route",
    "RouteStop",
    "SeasonRule",
    "ServiceAgreement",
    "ServiceProgram",
    "Shift",
    "SlotOffer",
    "TemperatureReading",
    "TimeOff",
    "Visit",
    "VisitAnswer",
    "VisitApplication",
    "VisitIdentification",
    "VisitInspection",
    "VisitTask",
]
