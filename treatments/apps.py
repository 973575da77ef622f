"""The floor of what was put down."""

from django.apps import AppConfig


class TreatmentsConfig(AppConfig):
    name = "treatments"
    default_auto_field = "django.db.models.BigAutoField"
