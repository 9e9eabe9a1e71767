"""Plots: valid, whole, readable on a small phone, and told apart without colour."""

import math
import re
from xml.etree import ElementTree

import pytest

import calc
from calc.check import Line, Plot
from site_src.plot import (
    BOTTOM,
    HEIGHT,
    LEFT,
    RIGHT,
    TEXT,
    TOP,
    WIDTH,
    along,
    decades,
    readings,
    rounds,
    spot,
    svg,
    times,
)

EVIL = '<script>alert("1")</script>'
PLOT = Plot(
    EVIL,
    "current, A",
    "time, s",
    (10, 1000),
    (0.01, 100),
    (Line(EVIL, ((10, 1), (1000, 0.1)), "dashed"),),
    ((100, EVIL),),
    EVIL,
)


DAYS = Plot(
    "A trip",
    "day",
    "charge, %",
    (9, 105),
    (0, 100),
    (Line("second battery", ((9, 100), (60, -5), (105, 120)), "solid"),),
    ((30.5, "the relay opens"),),
    "Five days.",
    x_axis="time",
    y_axis="linear",
    bands=((21, 30), (45, 54), (100, 200)),
    band="night",
    readings=((9, "Day 1, 9:00: 100 %"), (105, f"Day 5: {EVIL}")),
)


def texts(picture):
    return ["".join(each.itertext()) for each in ElementTree.fromstring(picture).iter() if each.tag.endswith("text")]


def test_ends_and_middle_of_a_logarithmic_axis():
    assert along(10, (10, 1000)) == 0
    assert along(1000, (10, 1000)) == 1
    assert math.isclose(along(100, (10, 1000)), 0.5)
    assert along(1, (10, 1000)) == 0, "what lies outside is kept at the edge"


def test_decades_are_those_within_the_axis():
    assert decades((0.01, 100)) == [0.01, 0.1, 1, 10, 100]
    assert decades((30, 3000)) == [100, 1000]


def test_points_keep_inside_the_axes():
    for x, y in ((1e-9, 1e-9), (1e9, 1e9), (100, 1)):
        across, down = map(float, spot(PLOT, x, y).split(","))
        assert LEFT <= across <= WIDTH - RIGHT
        assert TOP <= down <= HEIGHT - BOTTOM


@pytest.mark.parametrize("ends", [(0, 100), (11.8, 14.6), (-3, 2), (0, 1e-3), (0, 7), (1000, 1001)])
def test_a_linear_axis_has_round_numbers_within_its_ends(ends):
    values = rounds(*ends)
    assert 2 <= len(values) <= 7
    assert all(ends[0] - 1e-9 <= value <= ends[1] + 1e-9 for value in values)


def test_a_short_time_shows_hours_and_a_long_one_days():
    assert [words for *_, words in times(9, 33)] == ["12:00", "18:00", "0:00", "6:00"]
    assert [words for *_, words in times(9, 105)] == ["1", "2", "3", "4", ""]
    assert [round(at) for at, *_ in times(9, 105)] == [0, 24, 48, 72, 96]
    assert len(times(0, 8760)) <= 7


@pytest.mark.parametrize("hours", [0.02, 1, 5, 24, 47, 48, 49, 100, 336, 1000, 8760])
@pytest.mark.parametrize("start", [0, 9, 23.5])
def test_any_time_has_a_few_lines_or_none(start, hours):
    assert len(times(start, start + hours)) <= 8


def test_bands_and_lines_keep_inside_the_axes():
    picture = ElementTree.fromstring(svg(DAYS))
    for box in picture.iter("{http://www.w3.org/2000/svg}rect"):
        left, wide = float(box.get("x")), float(box.get("width"))
        assert left >= 0 and left + wide <= WIDTH - RIGHT + 0.1
    assert "night" in texts(svg(DAYS))


def test_readings_lie_where_their_x_is():
    (first, words), (last, _) = readings(DAYS)
    assert (first, last) == (LEFT, WIDTH - RIGHT)
    assert words == "Day 1, 9:00: 100 %"
    assert 'class="cursor"' in svg(DAYS) and 'class="cursor"' not in svg(PLOT)


@pytest.mark.parametrize("plot", [PLOT, DAYS])
def test_nothing_in_a_plot_becomes_markup(plot):
    assert "<script" not in svg(plot)
    ElementTree.fromstring(svg(plot))


def test_the_policy_bars_no_part_of_it():
    assert not re.search(r"style=|<style|\son[a-z]+=|href", svg(PLOT))


@pytest.fixture(scope="module")
def plots():
    answers = [calc.run(check.id, check.example) for check in calc.checks().values()]
    return [plot for answer in answers for plot in answer.plots]


def test_examples_hold_plots(plots):
    assert plots


def test_every_line_and_mark_is_named_in_words(plots):
    for plot in plots:
        shown = texts(svg(plot))
        assert len({line.stroke for line in plot.lines}) == len(plot.lines)
        for line in plot.lines:
            assert line.name in shown
            assert len(line.points) > 1
        for _, name in plot.marks:
            assert any(name.startswith(words) or words == name for words in shown if words)
        assert len(plot.words) > 40


def test_words_keep_inside_the_picture(plots):
    for plot in plots:
        for each in ElementTree.fromstring(svg(plot)).iter("{http://www.w3.org/2000/svg}text"):
            width = 0.6 * TEXT * len(each.text)
            left = float(each.get("x")) - {"start": 0, "middle": width / 2, "end": width}[each.get("text-anchor")]
            assert left >= -2 and left + width <= WIDTH + 2, each.text
