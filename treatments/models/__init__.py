"""The tables of the second floor."""

from treatments.models import (
    answers,
    copies,
    decisions,
    incidents,
    labels,
    loads,
    log,
    periods,
    profiles,
    records,
    stock,
    vehicles,
    windows,
    withdrawals,
)
from treatments.models.answers import SafetyAnswer
from treatments.models.copies import RecordCopy
from treatments.models.decisions import UnlistedUseDecision
from treatments.models.equipment import Calibration, Equipment
from treatments.models.incidents import (
    Incident,
    IncidentAddendum,
    IncidentHold,
    IncidentPersonalValue,
    IncidentRecord,
)
from treatments.models.labels import (
    ActiveIngredient,
    LabelFile,
    LabelLimit,
    LabelProtection,
    LabelUse,
    LabelVerification,
    LabelVersion,
    Product,
    ProductIngredient,
)
from treatments.models.loads import Load, LoadProduct, LoadRest
from treatments.models.log import LogEntry, LogFrontier, SignedHead
from treatments.models.periods import PeriodClose
from treatments.models.profiles import JurisdictionProfile, ProfileVerification
from treatments.models.rates import FirmRate
from treatments.models.records import (
    ApplicationJudgement,
    ApplicationRecord,
    CorrectionRequest,
    RecordPersonalValue,
    RetentionHold,
    TreatedArea,
    TreatedRun,
)
from treatments.models.stock import PastDriver, ProductLot, ReorderLevel, StockMove, StockPlace
from treatments.models.vehicles import VehicleCheck, VehicleCheckItem
from treatments.models.windows import (
    HistoricBatch,
    HistoricTreatment,
    ResidualFactor,
    ResidualWindow,
    WindowOverride,
    ZoneProtection,
)
from treatments.models.withdrawals import LabelWithdrawal

GUARDS = (
    *labels.GUARDS,
    *records.GUARDS,
    *log.GUARDS,
    *periods.GUARDS,
    *windows.GUARDS,
    *stock.GUARDS,
    *answers.GUARDS,
    *loads.GUARDS,
    *vehicles.GUARDS,
    *decisions.GUARDS,
    *withdrawals.GUARDS,
    *profiles.GUARDS,
    *incidents.GUARDS,
    *copies.GUARDS,
)

__all__ = [
    "GUARDS",
    "ActiveIngredient",
    "ApplicationJudgement",
    "ApplicationRecord",
    "Calibration",
    "CorrectionRequest",
    "Equipment",
    "FirmRate",
    "HistoricBatch",
    "HistoricTreatment",
    "Incident",
    "IncidentAddendum",
    "IncidentHold",
    "IncidentPersonalValue",
    "IncidentRecord",
    "JurisdictionProfile",
    "LabelFile",
    "LabelLimit",
    "LabelProtection",
    "LabelUse",
    "LabelVerification",
    "LabelVersion",
    "LabelWithdrawal",
    "Load",
    "LoadProduct",
    "LoadRest",
    "LogEntry",
    "LogFrontier",
    "PastDriver",
    "PeriodClose",
    "Product",
    "ProductIngredient",
    "ProductLot",
    "ProfileVerification",
    "RecordCopy",
    "RecordPersonalValue",
    "ReorderLevel",
    "ResidualFactor",
    "ResidualWindow",
    "RetentionHold",
    "SafetyAnswer",
    "SignedHead",
    "StockMove",
    "StockPlace",
    "TreatedArea",
    "TreatedRun",
    "UnlistedUseDecision",
    "VehicleCheck",
    "VehicleCheckItem",
    "WindowOverride",
    "ZoneProtection",
]
