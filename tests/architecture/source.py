"""The source of the house as the architecture tests read it."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
FLOORS = ("accounts", "sites", "treatments", "scheduling")
SOURCE = ("config", *FLOORS)


def files(*kinds: str, folders: tuple[str, ...] = SOURCE) -> Iterator[Path]:
    """Every source file of these endings, without generated migrations."""
    for folder in folders:
        for path in sorted((ROOT / folder).rglob("*")):
            is_generated = path.parent.name == "migrations" and path.name[0] == "0"
            if path.suffix in kinds and not is_generated and "__pycache__" not in path.parts:
                yield path


def shown(path: Path) -> str:
    """A path as people write it."""
    return str(path.relative_to(ROOT))


def tree(path: Path) -> ast.Module:
    """The parsed text of a Python file."""
    return ast.parse(path.read_text(encoding="utf-8"))


def imported(node: ast.AST) -> list[str]:
    """The modules one statement imports."""
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    if isinstance(node, ast.ImportFrom):
        return [node.module or "." * node.level]
    return []
