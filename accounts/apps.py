"""The floor of who."""

from typing import Any

from django.apps import AppConfig
from django.db import connections
from django.db.models.signals import post_migrate, pre_migrate

from accounts.append_only import install, lift
from accounts.rules.item_kinds import KINDS


def lift_guards(sender: AppConfig, using: str, plan: list[Any], **facts: Any) -> None:
    """Make way for the table rebuilds of a migration; without one nothing is lifted."""
    if plan:
        lift(connections[using], getattr(sender.models_module, "GUARDS", ()))


def install_guards(sender: AppConfig, using: str, **facts: Any) -> None:
    """Put a floor's guards in place after every migrate."""
    install(connections[using], getattr(sender.models_module, "GUARDS", ()))


class AccountsConfig(AppConfig):
    name = "accounts"
    default_auto_field = "django.db.models.BigAutoField"
    item_kinds = KINDS

    def ready(self) -> None:
        pre_migrate.connect(lift_guards)
        post_migrate.connect(install_guards)
