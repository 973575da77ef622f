"""The tables of the second floor."""

from treatments.models import labels, log, records, windows
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
from treatments.models.log import LogEntry, LogFrontier, SignedHead
from treatments.models.records import (
    ApplicationJudgement,
    ApplicationRecord,
    CorrectionRequest,
    RecordPersonalValue,
    RetentionHold,
    TreatedArea,
)
from treatments.models.windows import (
    HistoricBatch,
    HistoricTreatment,
    ResidualWindow,
    ZoneProtection,
)

GUARDS = (*labels.GUARDS, *records.GUARDS, *log.GUARDS, *windows.GUARDS)

__all__ = [
    "GUARDS",
    "ActiveIngredient",
    "ApplicationJudgement",
    "ApplicationRecord",
    "CorrectionRequest",
    "HistoricBatch",
    "HistoricTreatment",
    "LabelFile",
    "LabelLimit",
    "LabelProtection",
    "LabelUse",
    "LabelVerification",
    "LabelVersion",
    "LogEntry",
    "LogFrontier",
    "Product",
    "ProductIngredient",
    "RecordPersonalValue",
    "ResidualWindow",
    "RetentionHold",
    "SignedHead",
    "TreatedArea",
    "ZoneProtection",
]
