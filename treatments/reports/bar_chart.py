"""Bars lying on their side: the word above, the amount at its end, a length in proportion.

One tint and no colors to tell apart: every bar has its word and its amount beside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from html import escape

MOST_BARS = 12
ROW, BAR, TOP = 38, 12, 4
LETTER = 7.2  # the widest an average letter of the sheet's text gets, px


@dataclass(frozen=True)
class Bar:
    """A word, its value (for the length) and the same value in words with its unit."""

    label: str
    value: Fraction
    words: str


def bar_chart(title: str, bars: Sequence[Bar], *, width: int, uid: str) -> str:
    """The drawing as an SVG element, `width` px wide; empty without a bar.

    `uid` is unique on the page. The longest bars are drawn, at most twelve; the description says
    how many are left to the table. A value below zero is drawn as none.
    """
    if not bars:
        return ""
    drawn = sorted(bars, key=lambda one: -one.value)[:MOST_BARS]
    drawn = [one for one in bars if one in drawn][:MOST_BARS]
    most = max(one.value for one in drawn)
    rows = "".join(_row(one, place, most, width) for place, one in enumerate(drawn))
    height = TOP + ROW * len(drawn)
    words = "; ".join(f"{one.label}: {one.words}" for one in drawn)
    rest = len(bars) - len(drawn)
    more = f"; {rest} more in the table" if rest else ""
    return (
        f'<svg class="dr" width="{width}" height="{height}" viewBox="0 0 {width} {height}" '
        f'role="img" aria-labelledby="{uid}-t {uid}-d"><title id="{uid}-t">{escape(title)}</title>'
        f'<desc id="{uid}-d">{escape(words + more)}.</desc>'
        f'<path class="l-rule" d="M.5 {TOP}V{height}"/>{rows}</svg>'
    )


def _row(bar: Bar, place: int, most: Fraction, width: int) -> str:
    top = TOP + ROW * place
    length = float(bar.value / most) * width if most > 0 and bar.value > 0 else 0.0
    room = int((width - LETTER * len(bar.words) - 12) / LETTER)
    return (
        f'<text class="t" x="6" y="{top + 14}">{escape(_short(bar.label, room))}</text>'
        f'<text class="t b" x="{width}" y="{top + 14}" text-anchor="end">{escape(bar.words)}</text>'
        f'<rect class="w-left" x="0" y="{top + 19}" width="{length:.1f}" height="{BAR}"/>'
    )


def _short(label: str, room: int) -> str:
    return label if len(label) <= room else f"{label[: max(room - 1, 1)]}…"
