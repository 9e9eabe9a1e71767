"""The guides' pictures: there for every guide, in the page's own ink, readable, small, and said in words too."""

import gzip
import math
import re
from xml.etree import ElementTree

import pytest

from calc import edition
from calc.region import REGIONS
from calc.setup.usual import usual_set_up
from calc.units import sign
from site_src import answers, guides, pictures
from site_src.drawing import NUMBER, WIDTH, measure
from site_src.pictures.chart import Chart, rounded

GUIDES = guides.all_guides()
CALLED = re.compile(r'\{\{ picture\("([a-z-]+)"\) \}\}')
MOST_BYTES = 15_000
MOST_BYTES_IN_ALL = 120_000
SMALLEST_LETTERS = 12
INK = {None, "none", "currentColor"}
ALLOWED = {
    *("d", "x", "y", "width", "height", "cx", "cy", "r", "x1", "x2", "y1", "y2", "points", "transform", "font-size"),
    *("font-weight", "text-anchor", "fill", "fill-opacity", "stroke", "stroke-width", "stroke-opacity"),
    *("stroke-dasharray", "stroke-linecap", "stroke-linejoin"),
}
"""What a shape may carry: nothing that the site's policy bars, no class, no name, no address."""

every_picture = pytest.mark.parametrize("name", sorted(pictures.DRAWN))


@pytest.fixture(params=["metric", "north-america"])
def region(request):
    """Draw as a region says things."""
    with edition.used(edition.Edition(region=REGIONS[request.param])):
        yield REGIONS[request.param]


def drawn(name):
    """Return a picture's SVG, parsed."""
    return ElementTree.fromstring(re.search(r"<svg.*</svg>", pictures.figure(name))[0])


def tag(shape):
    """Return a shape's tag without its namespace."""
    return shape.tag.rpartition("}")[2]


@pytest.mark.parametrize("guide", GUIDES, ids=lambda guide: guide.name)
def test_every_guide_has_one_picture_with_its_words(guide):
    named = CALLED.findall(guide.text)
    assert len(named) == 1
    shown = pictures.picture(named[0])
    body = guides.body(guide, "../../")
    assert body.count("<svg") == body.count("</figcaption>") == 1
    assert "%%" not in body
    assert f'aria-labelledby="picture-{named[0]}"' in body
    assert len(shown.words) > 80 and shown.words.endswith(".") and shown.title


def test_every_picture_is_in_one_guide():
    named = [name for guide in GUIDES for name in CALLED.findall(guide.text)]
    assert sorted(named) == sorted(pictures.DRAWN)


def test_a_picture_that_is_not_there_is_refused():
    with pytest.raises(KeyError, match="no picture “moon”; there are: alternators, "):
        pictures.picture("moon")


@every_picture
def test_ink_is_the_page_s_own_and_no_style_is_written(name):
    shapes = list(drawn(name).iter())[1:]
    assert len(shapes) > 20
    for shape in shapes:
        assert tag(shape) in {"g", "path", "text", "rect", "circle", "polyline", "polygon", "line", "ellipse", "title"}
        assert {shape.get("fill"), shape.get("stroke")} <= INK
        assert set(shape.attrib) <= ALLOWED or tag(shape) == "title"


@every_picture
def test_numbers_are_finite_and_inside(name):
    svg = drawn(name)
    left, top, wide, high = map(float, svg.get("viewBox").split())
    assert (left, top, wide) == (0, 0, WIDTH)
    for shape in svg.iter():
        for words in (shape.get("d", ""), shape.get("points", "")):
            assert not re.search(r"nan|inf", words, re.IGNORECASE)
            assert all(math.isfinite(float(n)) and -30 <= float(n) <= max(wide, high) for n in NUMBER.findall(words))


@every_picture
def test_words_are_large_enough_and_stay_inside(name, region):
    """`measure` rather says too much, and every phone has letters of its own: a tenth less is still safe."""
    svg = drawn(name)
    high = float(svg.get("viewBox").split()[3])
    sizes = {id(child): group.get("font-size") for group in svg.iter() for child in group}
    for shape in svg.iter():
        if tag(shape) != "text":
            continue
        size = float(shape.get("font-size") or sizes[id(shape)])
        room = 0.9 * measure(shape.text, size)
        ahead = {"end": room, "middle": room / 2}.get(shape.get("text-anchor"), 0)
        start = float(shape.get("x")) - ahead
        assert size >= SMALLEST_LETTERS
        assert start >= -2 and start + room <= WIDTH + 2, shape.text
        assert size / 2 <= float(shape.get("y")) <= high, shape.text


@every_picture
def test_words_do_not_cover_one_another(name, region):
    sizes = {id(child): group.get("font-size") for group in drawn(name).iter() for child in group}
    boxes = []
    for shape in drawn(name).iter():
        if tag(shape) == "text":
            size = float(shape.get("font-size") or 13)
            room = 0.8 * measure(shape.text, size)
            ahead = {"end": room, "middle": room / 2}.get(shape.get("text-anchor"), 0)
            x, y = float(shape.get("x")) - ahead, float(shape.get("y"))
            boxes.append((x, y - 0.7 * size, x + room, y, shape.text))
    assert sizes
    for n, one in enumerate(boxes):
        for other in boxes[:n]:
            apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
            assert apart, (one[4], other[4])


@every_picture
def test_it_speaks_in_the_region_s_units(name, region):
    said = [pictures.picture(name).words, *(shape.text or "" for shape in drawn(name).iter())]
    for unit in ("m", "degC"):
        elsewhere = re.compile(rf"(?<!\w){sign(unit)}(?!\w)")
        assert region.units[unit] == unit or not [words for words in said if elsewhere.search(words)]


def test_pictures_are_small():
    sizes = {name: len(gzip.compress(pictures.figure(name).encode())) for name in pictures.DRAWN}
    assert max(sizes.values()) <= MOST_BYTES
    assert sum(sizes.values()) <= MOST_BYTES_IN_ALL


@every_picture
def test_a_picture_is_the_same_each_time(name):
    assert pictures.DRAWN[name]() == pictures.DRAWN[name]()


def test_lines_of_a_chart_are_told_apart_by_their_strokes():
    chart = Chart("x", "y", [0, 1], [0, 1])
    for stroke in ("solid", "dashed", "dotted", "dashdot"):
        chart.line([(0, 0), (1, 1)], stroke)
    found = re.findall(r'stroke-width="2.5"( stroke-dasharray="[^"]+")?', chart.drawn())
    assert len(set(found)) == len(found) == 4


def test_a_band_is_shaded_in_the_page_s_ink():
    chart = Chart("x", "y", [0, 1], [0, 1])
    chart.band([(0, 0), (1, 0)], [(0, 1), (1, 1)], 0.15)
    assert 'fill="currentColor" fill-opacity="0.15" stroke="none"' in chart.drawn()


def test_numbers_of_a_path_are_rounded():
    assert rounded("M 40.04 222.96 \nL -0.01 1e-7") == "M 40 223 L 0 0"


def test_a_place_of_a_set_up_changes_the_usual_vehicle():
    places = {"load.battery": "starter", "sun.power": "50 W"}
    changed = answers.changed(places)
    assert [one["battery"] for one in changed.entries["load"]] == ["starter"] * 3
    assert changed.entries["sun"] == [{"power": "50 W"}]
    assert "sun" not in usual_set_up().entries
    plain, other = (answers.asked("energy-budget", **more) for more in ({}, {"load.battery": "starter"}))
    assert other.values["used_per_day"].value != plain.values["used_per_day"].value
