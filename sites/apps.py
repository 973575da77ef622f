"""The floor of where."""

from django.apps import AppConfig

from sites.rules.item_kinds import KINDS


class SitesConfig(AppConfig):
    name = "sites"
    default_auto_field = "django.db.models.BigAutoField"
    item_kinds = KINDS
