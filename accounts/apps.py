"""The floor of who."""

from typing import Any

from django.apps import AppConfig
from django.db import connections
from django.db.models.signals import post_migrate

from accounts.append_only import install


def install_guards(sender: AppConfig, using: str, **facts: Any) -> None:
    """Put a floor's guards back after every migrate: SQLite drops triggers with a table rebuild."""
    guards = getattr(sender.models_module, "GUARDS", ())
    install(connections[using], guards)


class AccountsConfig(AppConfig):
    name = "accounts"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        post_migrate.connect(install_guards)
