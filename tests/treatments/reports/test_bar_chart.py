"""Bars: lengths worked out by hand, words beside every bar, nothing unescaped."""

from __future__ import annotations

from fractions import Fraction
from xml.etree import ElementTree

from treatments.reports.bar_chart import MOST_BARS, Bar, bar_chart

SVG = ""  # inside a page the element needs no namespace


def bar(label: str, value: int) -> Bar:
    return Bar(label, Fraction(value), f"{value} gal")


def drawn(*bars: Bar, width: int = 340) -> ElementTree.Element:
    return ElementTree.fromstring(bar_chart("Liquid", bars, width=width, uid="u"))


def lengths(svg: ElementTree.Element) -> list[str]:
    return [rect.attrib["width"] for rect in svg.iter(f"{SVG}rect")]


def test_lengths_are_in_proportion_to_the_longest() -> None:
    svg = drawn(bar("Sep", 4), bar("Oct", 1), bar("Nov", 0))
    assert lengths(svg) == ["340.0", "85.0", "0.0"]


def test_every_bar_is_told_in_words() -> None:
    svg = drawn(bar("Sep", 4), bar("Oct", 1))
    texts = [text.text for text in svg.iter(f"{SVG}text")]
    assert texts == ["Sep", "4 gal", "Oct", "1 gal"]
    description = svg.find(f"{SVG}desc")
    assert description is not None and description.text == "Sep: 4 gal; Oct: 1 gal."
    assert svg.attrib["aria-labelledby"] == "u-t u-d"


def test_the_longest_bars_are_drawn_in_the_order_given() -> None:
    svg = drawn(*(bar(f"P{number:02}", number) for number in range(1, 16)))
    texts = [text.text for text in svg.iter(f"{SVG}text")]
    assert texts[::2] == [f"P{number:02}" for number in range(4, 16)]
    assert len(lengths(svg)) == MOST_BARS
    description = svg.find(f"{SVG}desc")
    assert description is not None and str(description.text).endswith("3 more in the table.")


def test_nothing_but_zeros_and_nothing_at_all() -> None:
    assert lengths(drawn(bar("Sep", 0))) == ["0.0"]
    assert bar_chart("Liquid", [], width=340, uid="u") == ""


def test_words_are_escaped_and_a_long_one_is_cut() -> None:
    svg = drawn(bar("<b>&" + "x" * 90, 1))
    first = next(iter(svg.iter(f"{SVG}text"))).text or ""
    assert first.startswith("<b>&x") and first.endswith("…") and len(first) < 45
