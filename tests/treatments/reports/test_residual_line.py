"""The residual line: places worked out by hand, words, escaping, no style attribute."""

from __future__ import annotations

import re
from datetime import date
from xml.etree import ElementTree

import pytest

from accounts.refusals import Refused
from treatments.reports.residual_line import (
    LineWindow,
    ZoneLine,
    bare_gaps,
    line_days,
    line_scale,
    line_sentence,
    residual_line,
    stretches,
)

SVG = "{http://www.w3.org/2000/svg}"
TODAY = date(2026, 11, 9)
# Applied Sep 4 with 72 days and a 21 day interval: Sep 4 + 72 = Nov 15, Sep 4 + 21 = Sep 25.
BAND = ZoneLine(
    "Foundation band", (LineWindow(date(2026, 9, 4), date(2026, 9, 25), date(2026, 11, 15)),)
)
LAPSED = ZoneLine(
    "Entry points", (LineWindow(date(2026, 9, 4), date(2026, 9, 25), date(2026, 11, 3)),)
)
# Scale: Aug 1 to Nov 29 is 120 days; compact and 240 px wide makes 2 px a day.
SPAN = {"start": date(2026, 8, 1), "end": date(2026, 11, 29), "width": 240}


def draw(*zones: ZoneLine, **more: object) -> ElementTree.Element:
    text = residual_line(zones, today=TODAY, form="compact", **{**SPAN, **more})  # type: ignore[arg-type]
    return ElementTree.fromstring(
        text.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1)
    )


def rects(svg: ElementTree.Element, kind: str) -> list[tuple[float, float]]:
    found = svg.iter(f"{SVG}rect")
    return [
        (float(one.attrib["x"]), float(one.attrib["width"]))
        for one in found
        if one.attrib.get("class") == kind
    ]


def lines(svg: ElementTree.Element, kind: str) -> list[float]:
    return [
        float(one.attrib["d"][1:].split(" ")[0])
        for one in svg.iter(f"{SVG}path")
        if one.attrib.get("class") == kind
    ]


def test_bar_is_run_until_today_and_left_until_lapse() -> None:
    svg = draw(BAND)
    # Sep 4 is day 34 -> 68 px; today Nov 9 is day 100 -> 200 px; Nov 15 is day 106 -> 212 px.
    assert rects(svg, "w-used") == [(68.0, 132.0)]
    assert rects(svg, "w-left") == [(200.0, 12.0)]
    # Hatch from Sep 4 to Sep 25: 21 days -> 42 px.
    assert rects(svg, "w-wait") == [(68.0, 42.0)]
    assert lines(svg, "l-ink") == [68.0]
    assert lines(svg, "l-end") == [212.0]
    assert lines(svg, "l-today") == [200.0]
    assert rects(svg, "w-bare") == []


def test_lapsed_zone_is_white_until_today_or_the_booked_visit() -> None:
    # Nov 3 is day 94 -> 188 px; six days to Nov 9 -> 12 px; nine days to Nov 12 -> 18 px.
    assert rects(draw(LAPSED), "w-bare") == [(188.0, 12.0)]
    booked = draw(LAPSED, visits=(date(2026, 11, 12),))
    assert rects(booked, "w-bare") == [(188.0, 18.0)]
    assert lines(booked, "l-book") == [206.0]
    assert rects(booked, "w-left") == []


def test_60_day_window_on_a_91_day_cycle_leaves_31_days() -> None:
    first, second = date(2026, 3, 1), date(2026, 5, 31)
    assert (second - first).days == 91
    windows = (
        LineWindow(second, date(2026, 6, 21), date(2026, 7, 30)),
        LineWindow(first, date(2026, 3, 22), date(2026, 4, 30)),
    )
    gaps = bare_gaps(windows, date(2026, 7, 1))
    assert gaps == [(date(2026, 4, 30), second)]
    assert (gaps[0][1] - gaps[0][0]).days == 31


def test_later_treatment_ends_the_earlier_bar_even_when_it_is_shorter() -> None:
    windows = (
        LineWindow(date(2026, 6, 1), date(2026, 6, 22), date(2026, 8, 30)),
        LineWindow(date(2026, 7, 1), date(2026, 7, 22), date(2026, 7, 31)),
    )
    assert [one.until for one in stretches(windows)] == [date(2026, 7, 1), date(2026, 7, 31)]


def test_two_windows_of_one_day_are_one_bar_the_longer() -> None:
    day = date(2026, 9, 4)
    short = LineWindow(day, day, date(2026, 10, 4))
    long = LineWindow(day, day, date(2026, 11, 15))
    assert [one.window for one in stretches((long, short))] == [long]


@pytest.mark.parametrize(
    ("zone", "today", "sentence", "days"),
    [
        (BAND, TODAY, "6 days left, lapses Nov 15", "6 d left"),
        (BAND, date(2026, 11, 14), "1 day left, lapses Nov 15", "1 d left"),
        (BAND, date(2026, 11, 15), "lapses today, Nov 15", "lapses today"),
        (BAND, date(2026, 11, 16), "lapsed 1 day ago, Nov 15", "1 d lapsed"),
        (LAPSED, TODAY, "lapsed 6 days ago, Nov 3", "6 d lapsed"),
        (LAPSED, date(2027, 1, 2), "lapsed 60 days ago, Nov 3, 2026", "60 d lapsed"),
        (ZoneLine("Eave line", ()), TODAY, "no residual treatment known", "none known"),
    ],
)
def test_words(zone: ZoneLine, today: date, sentence: str, days: str) -> None:
    assert line_sentence(zone, today) == sentence
    assert line_days(zone, today) == days


def test_title_and_description_say_the_same_in_words() -> None:
    svg = draw(BAND, LAPSED, visits=(date(2026, 11, 12),), uid="r7")
    title, words = svg.find(f"{SVG}title"), svg.find(f"{SVG}desc")
    assert title is not None and words is not None
    assert title.text == (
        "Residual line from Aug 1, 2026 to Nov 29, 2026, today Nov 9, visit booked Nov 12"
    )
    assert words.text == (
        "Foundation band: 6 days left, lapses Nov 15; "
        "Entry points: lapsed 6 days ago, Nov 3, "
        "nothing in force for 9 days from Nov 3 to Nov 12"
    )
    assert svg.attrib["role"] == "img"
    assert svg.attrib["aria-labelledby"] == title.attrib["id"] == "r7-t"
    assert svg.attrib["aria-describedby"] == words.attrib["id"] == "r7-d"


@pytest.mark.parametrize("form", ["wide", "compact", "narrow"])
def test_every_form_escapes_and_carries_no_style(form: str) -> None:
    nasty = ZoneLine('<script>"&', BAND.windows, size="<b>1,080</b>")
    text = residual_line(
        (nasty,),
        today=TODAY,
        form=form,
        uid='a"><x',
        visits=(TODAY,),
        **SPAN,  # type: ignore[arg-type]
    )
    ElementTree.fromstring(text)
    assert "<script" not in text and "<b>" not in text and '"><x' not in text
    assert not re.search(r"\sstyle=|\son\w+=", text)
    assert "&lt;script&gt;" in text


def test_ids_of_two_drawings_never_meet() -> None:
    both = [
        residual_line((BAND,), today=TODAY, form="compact", uid=uid, **SPAN)  # type: ignore[arg-type]
        for uid in ("r1", "r2")
    ]
    first, second = (set(re.findall(r' id="([^"]+)"', text)) for text in both)
    assert len(first) == 3 and not first & second
    assert "url(#r1-wait)" in both[0] and "url(#r2-wait)" in both[1]


def test_what_lies_outside_the_span_is_cut_at_the_edge_or_left_out() -> None:
    old = LineWindow(date(2026, 1, 5), date(2026, 1, 26), date(2026, 4, 5))
    early = LineWindow(date(2026, 7, 1), date(2026, 7, 22), date(2026, 9, 1))
    svg = draw(ZoneLine("Band", (old, early)))
    # Aug 1 is the left edge; Sep 1 is day 31 -> 62 px; white from there to today's 200 px.
    assert rects(svg, "w-used") == [(0.0, 62.0)]
    assert rects(svg, "w-wait") == []
    assert rects(svg, "w-bare") == [(62.0, 138.0)]
    assert lines(svg, "l-ink") == []


def test_wide_form_counts_the_white_days_under_the_bar() -> None:
    text = residual_line((LAPSED,), today=TODAY, **SPAN | {"width": 1278})  # type: ignore[arg-type]
    assert ">6 d</text>" in text and ">6 d lapsed</text>" in text and ">lapsed Nov 3</text>" in text
    assert "today, Mon Nov 9" in text


def test_scale_stands_over_the_same_pixels_as_the_lines() -> None:
    text = line_scale(today=TODAY, **SPAN)  # type: ignore[arg-type]
    # Oct 1 is day 61 -> 122 px, today 200 px; the name of November (184 px) makes way for today.
    assert 'd="M122 4V20"' in text and 'd="M200 2V20"' in text
    assert ">Oct</text>" in text and ">Nov</text>" not in text


def test_empty_span_is_refused() -> None:
    with pytest.raises(Refused) as refused:
        residual_line((BAND,), today=TODAY, start=TODAY, end=TODAY, width=240)
    assert refused.value.code == "line_span"
