"""The floor of what was put down."""

from django.apps import AppConfig

from treatments.rules.audit.kinds import KINDS


class TreatmentsConfig(AppConfig):
    name = "treatments"
    default_auto_field = "django.db.models.BigAutoField"
    item_kinds = KINDS
