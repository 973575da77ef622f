"""The floor of when, who drives, in what order."""

from django.apps import AppConfig

from scheduling.rules.item_kinds import KINDS


class SchedulingConfig(AppConfig):
    name = "scheduling"
    default_auto_field = "django.db.models.BigAutoField"
    item_kinds = KINDS
