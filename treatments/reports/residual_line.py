"""The residual line: time from left to right, one bar a zone from treatment to lapse.

Drawn in a way of our own: days already run, the hatch where the label forbids
coming again, days still to run, ticks at treatment and lapse, days with nothing in force left
white, today as a rule through all rows, the booked visit as a diamond.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from html import escape
from typing import Literal

from accounts.refusals import Refused
from accounts.rules.day_words import MONTHS, short_day
from treatments.reports.line_windows import (
    LineWindow,
    Stretch,
    ZoneLine,
    bare_gaps,
    days_in_words,
    lapse_of,
    line_days,
    line_sentence,
    stretches,
)

__all__ = [
    "LineWindow",
    "ZoneLine",
    "bare_gaps",
    "line_days",
    "line_scale",
    "line_sentence",
    "residual_line",
    "stretches",
]

Form = Literal["wide", "compact", "narrow"]
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True)
class Shape:
    """Where things stand in one form of the drawing; pixels."""

    x0: float
    right: float
    head: float
    row: float
    foot: float
    bar_top: float
    bar: float


SHAPES: dict[Form, Shape] = {
    "wide": Shape(x0=190, right=136, head=52, row=52, foot=4, bar_top=10, bar=14),
    "compact": Shape(x0=0, right=0, head=0, row=28, foot=0, bar_top=11, bar=10),
    "narrow": Shape(x0=1, right=1, head=34, row=58, foot=26, bar_top=28, bar=16),
}
LONGEST_NAME = 22


@dataclass(frozen=True)
class Scale:
    """Whole days on pixels: `x0` at `start`, `x1` at `end`."""

    start: date
    end: date
    x0: float
    x1: float

    def x(self, day: date) -> float:
        """The place of a day; days outside stand at the edge."""
        inside = min(max(day, self.start), self.end)
        share = (inside - self.start).days / (self.end - self.start).days
        return self.x0 + share * (self.x1 - self.x0)

    def shows(self, day: date) -> bool:
        """Say whether the day lies on the drawing."""
        return self.start <= day <= self.end


@dataclass(frozen=True)
class Sheet:
    """What every part of one drawing needs to know."""

    scale: Scale
    shape: Shape
    form: Form
    today: date
    visits: tuple[date, ...]
    uid: str
    width: float
    height: float


def residual_line(
    zones: Sequence[ZoneLine],
    *,
    today: date,
    start: date,
    end: date,
    width: float,
    visits: Sequence[date] = (),
    form: Form = "wide",
    uid: str = "line",
) -> str:
    """The drawing as an SVG element, its title and description saying the same in words.

    `width` in pixels is the column's real width (wide 1278, compact 252, narrow 340); `visits`
    are the days of booked visits; `uid` is unique on the page. Refused when the span is empty.
    """
    sheet = _sheet(len(zones), today, start, end, width, tuple(sorted(visits)), form, uid)
    words = "; ".join(_zone_words(zone, sheet) for zone in zones)
    tops = [sheet.shape.head + index * sheet.shape.row for index in range(len(zones))]
    rows = "".join(_row(zone, top, sheet) for zone, top in zip(zones, tops, strict=True))
    # Words come last: their paper edge keeps them readable where the rules cross them.
    labels = "".join(_labels(zone, top, sheet) for zone, top in zip(zones, tops, strict=True))
    body = _hatch(uid) + _months(sheet) + rows + _today(sheet) + labels
    return _svg(sheet, _title(sheet), words, body)


def line_scale(*, today: date, start: date, end: date, width: float, uid: str = "scale") -> str:
    """The months over a column of compact lines, 20 px high, as an SVG element."""
    sheet = _sheet(0, today, start, end, width, (), "compact", uid)
    sheet = Sheet(sheet.scale, sheet.shape, "compact", today, (), uid, width, 20)
    x = sheet.scale.x(today)
    mark = _line("l-today", x, 2, 20) + _text("t s halo b", x + 4, 13, "today")
    return _svg(sheet, _title(sheet), "Scale of the lines below", _scale_months(sheet, x) + mark)


def _sheet(
    rows: int,
    today: date,
    start: date,
    end: date,
    width: float,
    visits: tuple[date, ...],
    form: Form,
    uid: str,
) -> Sheet:
    if end <= start:
        raise Refused("line_span", "The line needs a last day after its first day.")
    shape = SHAPES[form]
    scale = Scale(start, end, shape.x0, width - shape.right)
    height = shape.head + rows * shape.row + shape.foot
    return Sheet(scale, shape, form, today, visits, escape(uid), width, height)


def _gaps(zone: ZoneLine, sheet: Sheet) -> list[tuple[date, date]]:
    lapse = lapse_of(zone)
    after = [day for day in sheet.visits if lapse and day > lapse]
    gaps = bare_gaps(zone.windows, after[0] if after else sheet.today)
    return [
        (max(a, sheet.scale.start), min(b, sheet.scale.end))
        for a, b in gaps
        if b > sheet.scale.start and a < sheet.scale.end
    ]


def _zone_words(zone: ZoneLine, sheet: Sheet) -> str:
    gaps = "".join(
        f", nothing in force for {days_in_words((b - a).days)}"
        f" from {short_day(a)} to {short_day(b)}"
        for a, b in _gaps(zone, sheet)
    )
    return f"{zone.name}: {line_sentence(zone, sheet.today)}{gaps}"


def _title(sheet: Sheet) -> str:
    scale = sheet.scale
    span = f"{short_day(scale.start, True)} to {short_day(scale.end, True)}"
    booked = ", ".join(short_day(day) for day in sheet.visits)
    visit = f", visit booked {booked}" if booked else ""
    return f"Residual line from {span}, today {short_day(sheet.today)}{visit}"


def _svg(sheet: Sheet, title: str, words: str, body: str) -> str:
    size = (
        f'viewBox="0 0 {_n(sheet.width)} {_n(sheet.height)}" '
        f'width="{_n(sheet.width)}" height="{_n(sheet.height)}"'
    )
    names = f'aria-labelledby="{sheet.uid}-t" aria-describedby="{sheet.uid}-d"'
    return (
        f'<svg class="dr {sheet.form}" role="img" {size} {names} focusable="false">'
        f'<title id="{sheet.uid}-t">{escape(title)}</title>'
        f'<desc id="{sheet.uid}-d">{escape(words)}</desc>{body}</svg>'
    )


def _hatch(uid: str) -> str:
    return (
        f'<defs><pattern id="{escape(uid)}-wait" width="5" height="5" '
        'patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<rect width="5" height="5" class="p-ground"/><path d="M0 0V5" class="p-ink"/>'
        "</pattern></defs>"
    )


def _firsts(scale: Scale) -> Iterator[date]:
    """The first days of the months on the scale."""
    day = scale.start.replace(day=1)
    while day <= scale.end:
        if day >= scale.start:
            yield day
        day = (day + timedelta(days=32)).replace(day=1)


def _month(day: date, scale: Scale) -> str:
    named = day.month == 1 or day == next(_firsts(scale))
    return f"{MONTHS[day.month - 1]} {day.year}" if named else MONTHS[day.month - 1]


def _months(sheet: Sheet) -> str:
    """Hairlines at the first of each month; names over the wide form, under the narrow one."""
    shape, scale = sheet.shape, sheet.scale
    top, bottom = {
        "wide": (shape.head - 20, sheet.height),
        "compact": (0.0, sheet.height),
        "narrow": (shape.head, sheet.height - 20),
    }[sheet.form]
    lines = "".join(_line("l-rule", scale.x(day), top, bottom) for day in _firsts(scale))
    return lines + _month_names(sheet)


def _month_names(sheet: Sheet) -> str:
    """Names where there is room before the edge and before today's rule."""
    if sheet.form == "compact":
        return ""
    wide = sheet.form == "wide"
    room, y = (60.0, sheet.shape.head - 8) if wide else (40.0, sheet.height - 4)
    today = sheet.scale.x(sheet.today)
    return "".join(
        _text("t s", x + 4, y, _month(day, sheet.scale) if wide else MONTHS[day.month - 1])
        for day in _firsts(sheet.scale)
        if (x := sheet.scale.x(day)) + room <= sheet.scale.x1 and not (wide and 0 < today - x < 34)
    )


def _scale_months(sheet: Sheet, taken: float) -> str:
    """Month names of the compact head, left out where the word "today" stands."""
    parts = []
    for day in _firsts(sheet.scale):
        x = sheet.scale.x(day)
        parts.append(_line("l-rule", x, 4, 20))
        if not -30 < x - taken < 42 and x + 24 <= sheet.scale.x1:
            parts.append(_text("t s", x + 4, 13, MONTHS[day.month - 1]))
    return "".join(parts)


def _row(zone: ZoneLine, top: float, sheet: Sheet) -> str:
    """One zone: the white days, then every bar with its ticks."""
    gaps = "".join(_rect("w-bare", a, b, top, sheet) for a, b in _gaps(zone, sheet))
    bars = "".join(_bar(one, top, sheet) for one in stretches(zone.windows))
    return gaps + bars + "".join(_part(one, top, sheet) for one in zone.parts)


def _part(window: LineWindow, top: float, sheet: Sheet) -> str:
    """A treatment of a part of the zone: a dashed line along the bar, with a tick at its day."""
    scale, shape = sheet.scale, sheet.shape
    if window.expires_on < scale.start or window.applied_on > scale.end:
        return ""
    y = top + shape.bar_top + shape.bar / 2
    x0, x1 = scale.x(window.applied_on), scale.x(window.expires_on)
    return f'<path d="M{_n(x0)} {_n(y)}H{_n(x1)}" class="l-part"/>' + _line(
        "l-ink", x0, top + shape.bar_top - 3, top + shape.bar_top + shape.bar + 3
    )


def _labels(zone: ZoneLine, top: float, sheet: Sheet) -> str:
    """Name and days left of a zone; the compact form has its words beside it."""
    if sheet.form == "compact":
        return ""
    words = line_days(zone, sheet.today)
    kind = "t halo refuse" if words.endswith("lapsed") else "t halo b"
    y = top + (20 if sheet.form == "narrow" else 16)
    name = _text("t halo b", 0, y, _shortened(zone.name))
    left = _text(kind, sheet.width, y, words, "end")
    return name + left + (_second_lines(zone, top, sheet) if sheet.form == "wide" else "")


def _second_lines(zone: ZoneLine, top: float, sheet: Sheet) -> str:
    """Size and date of lapse under the words, white days counted under their bars."""
    gaps = "".join(_gap_days(a, b, top, sheet) for a, b in _gaps(zone, sheet))
    lapse = lapse_of(zone)
    if lapse is None:
        return _text("t s", 0, top + 33, zone.size) + gaps
    word = "lapses" if lapse >= sheet.today else "lapsed"
    under = _text("t s", sheet.width, top + 33, f"{word} {short_day(lapse)}", "end")
    return _text("t s", 0, top + 33, zone.size) + under + gaps


def _shortened(name: str) -> str:
    return name if len(name) <= LONGEST_NAME else f"{name[: LONGEST_NAME - 1].rstrip()}…"


def _bar(one: Stretch, top: float, sheet: Sheet) -> str:
    """Days run, the hatch, days still to run, a tick at treatment and a heavier one at lapse."""
    window, scale, today = one.window, sheet.scale, sheet.today
    if one.until < scale.start or window.applied_on > scale.end:
        return ""
    run_until = min(max(today, window.applied_on), one.until)
    hatch = f'fill="url(#{sheet.uid}-wait)"'
    return (
        _rect("w-used", window.applied_on, run_until, top, sheet)
        + _rect("w-left", run_until, one.until, top, sheet)
        + _rect("w-wait", window.applied_on, one.hatched_until, top, sheet, hatch)
        + _ticks(one, top, sheet)
        + _why(one, run_until, top, sheet)
    )


def _ticks(one: Stretch, top: float, sheet: Sheet) -> str:
    y0, y1 = top + sheet.shape.bar_top, top + sheet.shape.bar_top + sheet.shape.bar
    marks = []
    if sheet.scale.shows(one.window.applied_on):
        marks.append(_line("l-ink", sheet.scale.x(one.window.applied_on), y0 - 2, y1 + 2))
    if one.until == one.window.expires_on and sheet.scale.shows(one.until):
        marks.append(_line("l-end", sheet.scale.x(one.until), y0 - 2, y1 + 2))
    return "".join(marks)


def _why(one: Stretch, run_until: date, top: float, sheet: Sheet) -> str:
    """The window's own words inside the days already run, when there is room (wide form)."""
    x = sheet.scale.x(one.hatched_until) + 5
    room = sheet.scale.x(run_until) - x
    if sheet.form != "wide" or not one.window.label or room < 6.2 * len(one.window.label):
        return ""
    return _text("t s on", x, top + sheet.shape.bar_top + 11, one.window.label)


def _gap_days(first: date, last: date, top: float, sheet: Sheet) -> str:
    middle = (sheet.scale.x(first) + sheet.scale.x(last)) / 2
    y = top + sheet.shape.bar_top + sheet.shape.bar + 14
    return _text("t s halo", middle, y, f"{(last - first).days} d", "middle")


def _today(sheet: Sheet) -> str:
    """Today's rule through all rows, then the booked visits over it."""
    x, bottom = sheet.scale.x(sheet.today), sheet.height - sheet.shape.foot
    parts = []
    if sheet.scale.shows(sheet.today):
        parts.append(_line("l-today", x, 20 if sheet.form == "narrow" else 0, bottom))
        parts.append(_today_word(x, sheet))
    parts += [_visit(day, bottom, sheet) for day in sheet.visits if sheet.scale.shows(day)]
    return "".join(parts)


def _today_word(x: float, sheet: Sheet) -> str:
    if sheet.form == "compact":
        return ""
    word = f"today, {WEEKDAYS[sheet.today.weekday()]} {short_day(sheet.today)}"
    if x - sheet.scale.x0 > 165:
        return _text("t b", x - 6, 14, word, "end")
    return _text("t b", x if sheet.form == "narrow" else x + 6, 14, word)


def _visit(day: date, bottom: float, sheet: Sheet) -> str:
    x = sheet.scale.x(day)
    y = {"wide": sheet.shape.head - 16, "compact": 5, "narrow": sheet.shape.head - 8}[sheet.form]
    rule = _line("l-book", x, y, bottom)
    diamond = f'<path class="m-book" d="M{_n(x)} {_n(y - 5)}l5 5l-5 5l-5 -5Z"/>'
    word = _text("t acc halo", x + 9, 14, f"booked {short_day(day)}")
    return rule + diamond + (word if sheet.form == "wide" else "")


def _rect(kind: str, first: date, last: date, top: float, sheet: Sheet, more: str = "") -> str:
    x0, x1 = sheet.scale.x(first), sheet.scale.x(last)
    if x1 <= x0:
        return ""
    y = top + sheet.shape.bar_top
    place = f'x="{_n(x0)}" y="{_n(y)}" width="{_n(x1 - x0)}" height="{_n(sheet.shape.bar)}"'
    return f'<rect class="{kind}" {place} {more}/>' if more else f'<rect class="{kind}" {place}/>'


def _line(kind: str, x: float, y0: float, y1: float) -> str:
    return f'<path class="{kind}" d="M{_n(x)} {_n(y0)}V{_n(y1)}"/>'


def _text(kind: str, x: float, y: float, words: str, anchor: str = "start") -> str:
    side = "" if anchor == "start" else f' text-anchor="{anchor}"'
    return f'<text class="{kind}" x="{_n(x)}" y="{_n(y)}"{side}>{escape(words)}</text>'


def _n(value: float) -> str:
    """A coordinate with one decimal at most."""
    return f"{value:.1f}".rstrip("0").rstrip(".")
