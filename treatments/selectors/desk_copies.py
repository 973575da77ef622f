"""Copies of the records of a question at the desk: to whom, how, when, what is known of each."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from accounts.rules.day_words import clock, short_day
from treatments.rules.desk import DeskList, counted
from treatments.selectors.copies import CopyLine, copies_of
from treatments.selectors.desk_lists import counting
from treatments.selectors.desk_records import Histories
from treatments.selectors.windows import in_portions

HEAD = ("Records", "To whom", "Way", "Made", "What is known of it", "Leaves a copy")


def copies_list(histories: Histories) -> DeskList:
    """Every notice that carried a copy of one of the entries, and how many records have none."""
    entries = sorted(entry.pk for chain in histories for entry in chain)
    lines: dict[int, CopyLine] = {}
    carried: dict[int, list[int]] = {}
    for portion in in_portions(entries):
        for line in copies_of(portion):
            pk = line.row.notice.pk
            lines[pk] = line
            carried.setdefault(pk, []).extend(line.entries)
    zones = {entry.branch_id: ZoneInfo(entry.branch.time_zone) for c in histories for entry in c}
    rows = [_row(lines[pk], carried[pk], zones[lines[pk].row.notice.branch_id]) for pk in lines]
    return DeskList(
        "copies",
        "Copies for the customer",
        counted(len(rows), "copy", "copies"),
        HEAD,
        tuple(rows),
        _without(histories, lines, carried),
    )


def _row(line: CopyLine, entries: list[int], zone: ZoneInfo) -> tuple[str, ...]:
    row = line.row
    made = row.notice.created_at.astimezone(zone)
    known = []
    for one in row.known:
        at = one.at.astimezone(zone)
        by = f", by {one.by}" if one.by else ""
        known.append(f"{one.words}, {short_day(at.date(), True)}, {clock(at)}{by}")
    return (
        ", ".join(map(str, sorted(entries))),
        row.to,
        row.way,
        f"{short_day(made.date(), True)}, {clock(made)}",
        "; ".join(known) or row.state.lower(),
        "yes" if line.leaves_a_copy else "no",
    )


def _without(
    histories: Histories, lines: dict[int, CopyLine], carried: dict[int, list[int]]
) -> tuple[str, ...]:
    given = {key for pk, keys in carried.items() if lines[pk].leaves_a_copy for key in keys}
    last = {record.pk for record in counting(histories)}
    bare = sum(
        not given & {entry.pk for entry in chain} for chain in histories if chain[-1].pk in last
    )
    return (
        (f"{counted(bare, 'record')} of which no copy is known to have arrived.",) if bare else ()
    )
