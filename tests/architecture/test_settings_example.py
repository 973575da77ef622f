"""`.env.example` names what the settings read, no more and no less."""

from __future__ import annotations

import ast
import os

from tests.architecture.source import ROOT, tree


def _read_by_settings() -> set[str]:
    """The first argument of every `env.kind("NAME", ...)` in the settings."""
    return {
        node.args[0].value
        for node in ast.walk(tree(ROOT / "config" / "settings.py"))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and isinstance(node.func.value, ast.Name)
        and node.func.value.id == "env"
        and isinstance(node.args[0], ast.Constant)
    }


def _named_in_example() -> list[str]:
    lines = (ROOT / ".env.example").read_text().splitlines()
    return [line.split("=")[0].lstrip("# ") for line in lines if "=" in line]


def test_the_example_names_every_variable_once() -> None:
    named = _named_in_example()
    assert len(named) == len(set(named))
    assert set(named) == _read_by_settings()


def test_the_suite_decides_every_variable_itself() -> None:
    """Otherwise a developer's own `.env` would reach into the tests."""
    assert {name for name in _read_by_settings() if name not in os.environ} == set()
