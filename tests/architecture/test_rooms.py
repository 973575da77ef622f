"""What import contracts cannot say about the rooms of the house."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest
from django.apps import apps
from django.db import models

from tests.architecture.function_imports import ALLOWED
from tests.architecture.source import FLOORS, files, imported, shown, tree

CEILING = 400
DRAWERS = {"utils", "util", "helpers", "common", "misc", "base", "tools", "lib", "shared"}


def test_no_file_is_above_the_ceiling() -> None:
    every = files(".py", ".css", ".js", ".html", folders=("config", *FLOORS, "tests"))
    lengths = {shown(path): len(path.read_text().splitlines()) for path in every}
    assert {path: lines for path, lines in lengths.items() if lines > CEILING} == {}


def test_no_module_is_a_drawer() -> None:
    every = files(".py", folders=("config", *FLOORS, "tests"))
    found = [shown(p) for p in every if p.stem in DRAWERS or p.parent.name in DRAWERS]
    # Django looks for a database engine in a module of this name
    assert found == ["config/sqlite_in_turn/base.py"]


def _manager_uses(path: Path) -> list[str]:
    names = ("objects", "_default_manager", "_base_manager")
    return [
        f"{shown(path)}:{node.lineno}"
        for node in ast.walk(tree(path))
        if isinstance(node, ast.Attribute) and node.attr in names
    ]


def _in_room(path: Path, *rooms: str) -> bool:
    return any(room in path.parts or path.stem == room for room in rooms)


def test_views_and_forms_never_query() -> None:
    rooms = [path for path in files(".py") if _in_room(path, "views", "forms", "urls")]
    assert rooms
    assert [use for path in rooms for use in _manager_uses(path)] == []


def test_signals_are_heard_in_one_place() -> None:
    hearers = {
        shown(path)
        for path in files(".py")
        for node in ast.walk(tree(path))
        for module in imported(node)
        if module.endswith(".signals") or module == "django.dispatch"
    }
    assert hearers == {"accounts/apps.py"}


def _inner_imports(path: Path) -> set[tuple[str, str]]:
    return {
        (shown(path), module)
        for function in ast.walk(tree(path))
        if isinstance(function, ast.FunctionDef | ast.AsyncFunctionDef)
        for node in ast.walk(function)
        for module in imported(node)
    }


def test_imports_stand_at_the_top() -> None:
    found = {
        row for path in files(".py", folders=("config", *FLOORS)) for row in _inner_imports(path)
    }
    assert found == set(ALLOWED)


def _relations() -> list[models.Field]:  # type: ignore[type-arg]
    own = [model for model in apps.get_models() if model._meta.app_label in FLOORS]
    every = [
        f for model in own for f in (*model._meta.local_fields, *model._meta.local_many_to_many)
    ]
    return [field for field in every if field.is_relation]


def test_lower_floors_do_not_see_who_points_at_them() -> None:
    crossing = [
        field
        for field in _relations()
        if field.related_model._meta.app_label != field.model._meta.app_label
    ]
    assert crossing
    assert [str(field) for field in crossing if not field.remote_field.hidden] == []


def test_relations_go_down_the_stairs_only() -> None:
    upward = [
        str(field)
        for field in _relations()
        if field.related_model._meta.app_label in FLOORS
        and FLOORS.index(field.related_model._meta.app_label)
        > FLOORS.index(field.model._meta.app_label)
    ]
    assert upward == []


@pytest.mark.parametrize("floor", FLOORS)
def test_a_floor_has_a_folder_for_every_room_it_uses(floor: str) -> None:
    config = apps.get_app_config(floor)
    assert config.label == floor
    assert (Path(config.path) / "models" / "__init__.py").exists()
