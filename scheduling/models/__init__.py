"""The tables under the roof."""

from scheduling.models.days import Route, RouteStop, Shift, TimeOff
from scheduling.models.inspections import VisitInspection, VisitTask
from scheduling.models.renewals import Renewal, RenewalZone
from scheduling.models.visits import (
    GUARDS,
    BaitRecord,
    Visit,
    VisitApplication,
    VisitIdentification,
)

__all__ = [
    "GUARDS",
    "BaitRecord",
    "Renewal",
    "RenewalZone",
    "Route",
    "RouteStop",
    "Shift",
    "TimeOff",
    "Visit",
    "VisitApplication",
    "VisitIdentification",
    "VisitInspection",
    "VisitTask",
]
