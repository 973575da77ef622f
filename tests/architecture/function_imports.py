"""Imports inside functions that are allowed, each with its reason; none is the goal.

A row is (path, imported module): reason. Hiding a cycle is not a reason.
"""

ALLOWED: dict[tuple[str, str], str] = {}
