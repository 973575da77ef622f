"""Every address of the house, as the resolver knows it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver

from tests.architecture.source import FLOORS


@dataclass(frozen=True)
class Address:
    """One pattern: its route, its name, the view behind it and the names of its arguments."""

    route: str
    name: str
    view: Callable[..., Any]
    arguments: tuple[str, ...]

    @property
    def is_ours(self) -> bool:
        return self.view.__module__.split(".")[0] in FLOORS

    @property
    def package(self) -> str:
        return self.view.__module__.split(".")[0]


def _walk(patterns: list[URLPattern | URLResolver], before: str) -> Iterator[Address]:
    for pattern in patterns:
        route = before + str(pattern.pattern)
        if isinstance(pattern, URLResolver):
            yield from _walk(pattern.url_patterns, route)
        else:
            arguments = tuple(pattern.pattern.regex.groupindex)
            yield Address(route, pattern.name or "", pattern.callback, arguments)


def addresses() -> list[Address]:
    """Return every address, the packages' included."""
    return list(_walk(get_resolver().url_patterns, "/"))
