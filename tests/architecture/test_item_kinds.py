"""Every code of an open item that the source names is declared, with who must act."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

from django.apps import apps

from tests.architecture.source import FLOORS, files, shown, tree

OPENERS = {"open_item", "open_item_once", "keep_item", "Finding"}
# these hand on a code they were given: whoever names it is looked at, or it is a key of the kinds
HAND_ON = {
    ("accounts/services/audit.py", "code"),
    ("accounts/services/item_watch.py", "one.code"),
    ("treatments/selectors/audit.py", "code"),
}


def _codes(path: Path) -> Iterator[tuple[str, ast.expr]]:
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in OPENERS:
            named = [word.value for word in node.keywords if word.arg == "code"]
            yield f"{shown(path)}:{node.lineno}", (named or node.args)[0]


def _said(path: Path, value: ast.expr) -> str | None:
    """The code as text; None where it is only handed on."""
    if isinstance(value, ast.Constant):
        return str(value.value)
    if (shown(path), ast.unparse(value)) in HAND_ON:
        return None
    module = import_module(shown(path).removesuffix(".py").replace("/", "."))
    return str(getattr(module, ast.unparse(value), f"not a constant: {ast.unparse(value)}"))


def test_every_code_that_opens_an_item_is_declared_with_its_words() -> None:
    declared = {code for app in apps.get_app_configs() for code in getattr(app, "item_kinds", {})}
    named = {
        place: said
        for path in files(".py", folders=FLOORS)
        for place, value in _codes(path)
        if (said := _said(path, value)) is not None
    }
    assert {"runs_out", "label_withdrawn", "rest_without_stock"} <= set(named.values())
    assert {place: said for place, said in named.items() if said not in declared} == {}


def test_no_code_is_declared_on_two_floors() -> None:
    every = [code for app in apps.get_app_configs() for code in getattr(app, "item_kinds", {})]
    assert sorted(every) == sorted(set(every))
