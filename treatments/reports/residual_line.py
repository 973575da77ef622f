"""The residual line: time from left to right, one bar a zone from treatment to lapse.

Drawn as design/look/desktop/style.md says: days already run, the hatch where the label forbids
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
from treatments.rules.residual import MONTHS, short_day

Form = Literal["wide", "compact", "narrow"]
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True)
class LineWindow:
    """One treatment: done on, the label allows the return on, lapses on; `label` says why."""

    applied_on: date
    opens_on: date
    expires_on: date
    label: str = ""


@dataclass(frozen=True)
class ZoneLine:
    """A zone with its windows in any order; `size` is its measure in words."""

    name: str
    windows: tuple[LineWindow, ...]
    size: str = ""


@dataclass(frozen=True)
class Stretch:
    """What is drawn of a window: from treatment to lapse, or to the treatment that followed."""

    window: LineWindow
    until: date

    @property
    def hatched_until(self) -> date:
        """The last day drawn with the hatch: the return opens, or the bar ends before it."""
        return min(self.window.opens_on, self.until)


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
    "narrow": Shape(x0=1, right=1, head=26, row=56, foot=26, bar_top=28, bar=16),
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


def stretches(windows: Sequence[LineWindow]) -> list[Stretch]:
    """The windows in order, each cut where the next treatment began.

    Of two windows of one day the longer is drawn.
    """
    longest: dict[date, LineWindow] = {}
    for window in sorted(windows, key=lambda one: (one.applied_on, one.expires_on)):
        longest[window.applied_on] = window
    days = [*longest, date.max]
    return [
        Stretch(window, min(window.expires_on, following))
        for window, following in zip(longest.values(), days[1:], strict=True)
    ]


def bare_gaps(windows: Sequence[LineWindow], until: date) -> list[tuple[date, date]]:
    """The days with nothing in force: from each lapse to the next treatment, at last `until`."""
    drawn = stretches(windows)
    follow = [*(one.window.applied_on for one in drawn[1:]), until]
    pairs = ((one.until, day) for one, day in zip(drawn, follow, strict=False))
    return [(lapse, day) for lapse, day in pairs if day > lapse]


def line_sentence(zone: ZoneLine, today: date) -> str:
    """The state of a zone for the staff: "6 days left, lapses Nov 15"."""
    lapse = _lapse(zone)
    if lapse is None:
        return "no residual treatment known"
    left = (lapse - today).days
    day = short_day(lapse, lapse.year != today.year)
    if left < 0:
        return f"lapsed {_days(-left)} ago, {day}"
    return f"{_days(left)} left, lapses {day}" if left else f"lapses today, {day}"


def line_days(zone: ZoneLine, today: date) -> str:
    """The same in three words for a narrow column: "6 d left", "6 d lapsed"."""
    lapse = _lapse(zone)
    if lapse is None:
        return "none known"
    left = (lapse - today).days
    return f"{left} d left" if left >= 0 else f"{-left} d lapsed"


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
    Source of the geometry: design/look/desktop/style.md, The residual line.
    """
    sheet = _sheet(len(zones), today, start, end, width, tuple(sorted(visits)), form, uid)
    words = "; ".join(_zone_words(zone, sheet) for zone in zones)
    rows = "".join(_row(zone, index, sheet) for index, zone in enumerate(zones))
    return _svg(sheet, _title(sheet), words, _hatch(uid) + _months(sheet) + rows + _today(sheet))


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


def _lapse(zone: ZoneLine) -> date | None:
    drawn = stretches(zone.windows)
    return drawn[-1].until if drawn else None


def _days(count: int) -> str:
    return f"{count} day" if count == 1 else f"{count} days"


def _gaps(zone: ZoneLine, sheet: Sheet) -> list[tuple[date, date]]:
    lapse = _lapse(zone)
    after = [day for day in sheet.visits if lapse and day > lapse]
    gaps = bare_gaps(zone.windows, after[0] if after else sheet.today)
    return [
        (max(a, sheet.scale.start), min(b, sheet.scale.end))
        for a, b in gaps
        if b > sheet.scale.start and a < sheet.scale.end
    ]


def _zone_words(zone: ZoneLine, sheet: Sheet) -> str:
    gaps = "".join(
        f", nothing in force for {_days((b - a).days)} from {short_day(a)} to {short_day(b)}"
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
    if sheet.form == "wide":
        names = ((day, _month(day, sheet.scale)) for day in _firsts(sheet.scale))
        room, y = 60.0, sheet.shape.head - 8
    else:
        names = ((day, MONTHS[day.month - 1]) for day in _firsts(sheet.scale))
        room, y = 40.0, sheet.height - 4
    if sheet.form == "compact":
        return ""
    return "".join(
        _text("t s", sheet.scale.x(day) + 4, y, name)
        for day, name in names
        if sheet.scale.x(day) + room <= sheet.scale.x1
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


def _row(zone: ZoneLine, index: int, sheet: Sheet) -> str:
    """One zone: its words, the white days, then every bar with its ticks."""
    top = sheet.shape.head + index * sheet.shape.row
    bars = "".join(_bar(one, top, sheet) for one in stretches(zone.windows))
    gaps = "".join(_gap(a, b, top, sheet) for a, b in _gaps(zone, sheet))
    return _labels(zone, top, sheet) + gaps + bars


def _labels(zone: ZoneLine, top: float, sheet: Sheet) -> str:
    kind = "t refuse" if line_days(zone, sheet.today).endswith("lapsed") else "t b"
    words = line_days(zone, sheet.today)
    if sheet.form == "narrow":
        name = _shortened(zone.name)
        return _text("t b", 0, top + 20, name) + _text(kind, sheet.width, top + 20, words, "end")
    if sheet.form == "compact":
        return ""
    lapse = _lapse(zone)
    under = _text(
        "t s",
        sheet.width,
        top + 33,
        f"lapses {short_day(lapse)}" if lapse and lapse >= sheet.today else _since(lapse),
        "end",
    )
    return (
        _text("t b", 0, top + 16, _shortened(zone.name))
        + _text("t s", 0, top + 33, zone.size)
        + _text(kind, sheet.width, top + 16, words, "end")
        + under
    )


def _since(lapse: date | None) -> str:
    return f"lapsed {short_day(lapse)}" if lapse else ""


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


def _gap(first: date, last: date, top: float, sheet: Sheet) -> str:
    box = _rect("w-bare", first, last, top, sheet)
    middle = (sheet.scale.x(first) + sheet.scale.x(last)) / 2
    if sheet.form != "wide":
        return box
    y = top + sheet.shape.bar_top + sheet.shape.bar + 14
    return box + _text("t s halo", middle, y, f"{(last - first).days} d", "middle")


def _today(sheet: Sheet) -> str:
    """Today's rule through all rows, then the booked visits over it."""
    x, bottom = sheet.scale.x(sheet.today), sheet.height - sheet.shape.foot
    parts = []
    if sheet.scale.shows(sheet.today):
        parts.append(_line("l-today", x, max(sheet.shape.head - 32, 0) + 0, bottom))
        parts.append(_today_word(x, sheet))
    parts += [_visit(day, bottom, sheet) for day in sheet.visits if sheet.scale.shows(day)]
    return "".join(parts)


def _today_word(x: float, sheet: Sheet) -> str:
    if sheet.form == "compact":
        return ""
    word = f"today, {WEEKDAYS[sheet.today.weekday()]} {short_day(sheet.today)}"
    if x - sheet.scale.x0 > 150:
        return _text("t b", x - 6, 14, word, "end")
    return _text("t b", x + 6, 14, word)


def _visit(day: date, bottom: float, sheet: Sheet) -> str:
    x = sheet.scale.x(day)
    y = 5 if sheet.form == "compact" else sheet.shape.head - 16
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
