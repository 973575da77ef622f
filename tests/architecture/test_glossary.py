"""Tables are named in the words that DEVELOPERS.md explains."""

from __future__ import annotations

import re

from django.apps import apps

from tests.architecture.source import FLOORS, ROOT

ROW = re.compile(r"^\| ([^|]+) \| [^|]+ \|$", re.MULTILINE)
PART = re.compile(r"[A-Z][a-z]+")


def explained_words() -> set[str]:
    """Every word of the glossary's first column."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    glossary = text.partition("## Glossary\n")[2].partition("\n## ")[0]
    return set(re.findall(r"[a-z]+", " ".join(ROW.findall(glossary)).lower()))


def test_every_table_is_named_in_words_of_the_glossary() -> None:
    known = explained_words()
    names = [one.__name__ for one in apps.get_models() if one._meta.app_label in FLOORS]
    assert len(names) > 30
    strange = {
        name: [part for part in PART.findall(name) if part.lower() not in known] for name in names
    }
    assert {name: parts for name, parts in strange.items() if parts} == {}
