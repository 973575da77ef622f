"""Asking in a template what the person may do."""

from __future__ import annotations

from django import template

from accounts.permissions import HasRoles, Permission, allows

register = template.Library()


@register.filter
def may(person: HasRoles, permission: str) -> bool:
    """Say whether the person holds the permission; the anonymous visitor holds none."""
    return hasattr(person, "roles") and allows(person, Permission(permission))
