"""What an import did or would do, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scheduling.rules.accounts_plan import Change, ImportPlan
from scheduling.rules.day_words import count
from scheduling.rules.spreadsheet import Problem

MOST_LINES = 200


@dataclass(frozen=True)
class ImportReport:
    """Problems by line, changes by line, what is new by noun; `is_stored` when it was written."""

    file_name: str
    problems: tuple[Problem, ...]
    changes: tuple[Change, ...]
    new: Mapping[str, int]
    new_lines: tuple[str, ...]
    unchanged: int
    is_dry_run: bool
    is_update: bool
    is_stored: bool

    @property
    def is_refused(self) -> bool:
        """Whether the file cannot be taken as it is."""
        return bool(self.problems) or (bool(self.changes) and not self.is_update)

    @property
    def is_unchanged(self) -> bool:
        """Whether everything in the file is known already, with the same values."""
        return not (self.problems or self.changes or any(self.new.values()))

    def words(self) -> list[str]:
        """The report, the summary first."""
        return [
            self._summary(),
            *shortened([_problem_words(one) for one in self.problems]),
            *shortened([str(one) for one in self.changes]),
            *(shortened(self.new_lines) if self.is_dry_run and not self.problems else ()),
        ]

    def _summary(self) -> str:
        if self.problems:
            many = count(len({one.line for one in self.problems}), "row")
            return f"{self.file_name}: {many} to correct, nothing stored."
        if self.is_unchanged:
            return f"{self.file_name}: nothing changed, {count(self.unchanged, 'row')} known."
        if self.is_refused:
            many = count(len(self.changes), "cell")
            verb = "differs" if len(self.changes) == 1 else "differ"
            return (
                f"{self.file_name}: {many} {verb} from what is stored, nothing stored. "
                "Correct the file, or run again with --update to take its values."
            )
        verb = "would make" if self.is_dry_run else "made"
        return f"{self.file_name}: {verb} {self._new_words()}{self._change_words()}."

    def _new_words(self) -> str:
        made = [_counted(many, noun) for noun, many in self.new.items() if many]
        return ", ".join(made) or "nothing new"

    def _change_words(self) -> str:
        verb = "change" if self.is_dry_run else "changed"
        return f"; {verb} {count(len(self.changes), 'cell')}" if self.changes else ""


def _counted(many: int, noun: str) -> str:
    plurals = {"branch": "branches", "property": "properties"}
    return count(many, noun, plurals.get(noun, ""))


def _problem_words(problem: Problem) -> str:
    if not problem.column:
        return f"line {problem.line}: {problem.reason}"
    return f"line {problem.line}, column {problem.column}: {problem.reason}"


def shortened(lines: Sequence[str]) -> list[str]:
    """The first lines, and how many more there are."""
    more = len(lines) - MOST_LINES
    return [*lines[:MOST_LINES], *([f"... and {more:,} more."] if more > 0 else [])]


def new_counts(plan: ImportPlan, new_branch: str) -> dict[str, int]:
    """How many of each the plan makes."""
    return {
        "branch": 1 if new_branch else 0,
        "customer": sum(one.known is None for one in plan.customers),
        "contact": sum(one.known is None for one in plan.contacts),
        "property": sum(one.known is None for one in plan.properties),
        "zone": sum(one.known is None for one in plan.zones),
        "last treatment": sum(one.has_new_history for one in plan.zones),
    }


def new_lines(plan: ImportPlan, new_branch: str) -> tuple[str, ...]:
    """One line for each thing the plan makes."""
    lines = [f"new branch {new_branch}"] if new_branch else []
    made = [one for one in plan.all() if one.known is None]
    return (
        *lines,
        *(f"line {one.row.line}: new {one.words()}" for one in sorted(made, key=_line)),
        *(
            f"line {one.row.line}: last treatment of {one.words()} on {one.row.last_applied_on}"
            for one in plan.zones
            if one.has_new_history
        ),
    )


def _line(one: object) -> int:
    return one.row.line  # type: ignore[attr-defined,no-any-return]
