"""Plots: valid, whole, readable on a small phone, and told apart without colour."""

import math
import re
from xml.etree import ElementTree

import pytest

import calc
from calc.check import Line, Plot
from site_src.plot import BOTTOM, HEIGHT, LEFT, RIGHT, TEXT, TOP, WIDTH, along, decades, spot, svg

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


def test_nothing_in_a_plot_becomes_markup():
    assert "<script" not in svg(PLOT)
    ElementTree.fromstring(svg(PLOT))


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
