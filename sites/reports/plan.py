"""The property plan for screens: SVG whose colors are the classes of the site's style."""

from __future__ import annotations

from html import escape

from sites.reports.plan_drawing import Drawing, Form, Plan, Stroke, Words, draw
from sites.rules.plan_bands import Ring


def plan_svg(plan: Plan, *, form: Form, uid: str) -> str:
    """A plan as an SVG element with a title and a description; every text is escaped.

    `uid` keeps the ids of several drawings on a page apart.
    """
    drawing = draw(plan, form)
    body = "".join(_item(item) for item in drawing.items)
    return _svg(drawing, form, escape(uid), body)


def _svg(drawing: Drawing, form: Form, uid: str, body: str) -> str:
    size = (
        f'viewBox="0 0 {_n(drawing.width)} {_n(drawing.height)}" '
        f'width="{_n(drawing.width)}" height="{_n(drawing.height)}"'
    )
    names = f'aria-labelledby="{uid}-t" aria-describedby="{uid}-d"'
    return (
        f'<svg class="dr plan {form}-plan" role="img" {size} {names} focusable="false">'
        f'<title id="{uid}-t">{escape(drawing.title)}</title>'
        f'<desc id="{uid}-d">{escape(drawing.words)}</desc>{body}</svg>'
    )


def _item(item: Stroke | Words) -> str:
    if isinstance(item, Words):
        side = ' text-anchor="middle"' if item.centered else ""
        place = f'x="{_n(item.x)}" y="{_n(item.y)}"{side}'
        return f'<text class="{item.kind}" {place}>{escape(item.text)}</text>'
    if not item.lines:
        return ""
    way = "".join(_path(line, item.closed) for line in item.lines)
    # between two rings is the strip, inside both is the house
    rule = ' fill-rule="evenodd"' if item.closed and len(item.lines) > 1 else ""
    return f'<path class="{item.kind}"{rule} d="{way}"/>'


def _path(line: Ring, closed: bool) -> str:
    way = "L".join(f"{_n(x)} {_n(y)}" for x, y in line)
    return f"M{way}{'Z' if closed else ''}"


def _n(value: float) -> str:
    """A coordinate with one decimal at most."""
    return f"{value:.1f}".rstrip("0").rstrip(".")
