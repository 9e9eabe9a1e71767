"""The fuse check: what must hold for every input, scenarios, and words that keep people safe."""

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

import calc
from calc import units
from calc.checks import fuse_choice
from calc.physics import adiabatic, fuse
from calc.physics.cable_sizes import catalogue
from calc.shared_fields import CHEMISTRIES

SIZES = [size.name for family in catalogue().values() for size in family]
METRIC = [size.name for size in catalogue()["metric"]]
CHECK = calc.checks()["fuse-choice"]
KINDS = [key for key, _ in CHECK.field("fuse_type").options]


def numbers(name):
    """Values that a number field allows."""
    return (
        st.floats(*CHECK.field(name).limits)
        .map(lambda x: f"{x:.6g}")
        .filter(lambda text: CHECK.field(name).limits[0] <= float(text) <= CHECK.field(name).limits[1])
    )


INPUTS = {
    "current": numbers("current"),
    "surge_current": st.one_of(st.just(""), numbers("surge_current")),
    "surge_time": numbers("surge_time"),
    "size": st.sampled_from(SIZES),
    "length": numbers("length"),
    "insulation": numbers("insulation"),
    "ambient": numbers("ambient"),
    "engine_bay": st.sampled_from(["yes", "no"]),
    "chemistry": st.sampled_from([key for key, _ in CHEMISTRIES]),
    "capacity": numbers("capacity"),
    "fuse_type": st.sampled_from(KINDS),
}
ANYTHING = st.fixed_dictionaries(INPUTS)
LIKELY = st.fixed_dictionaries(
    INPUTS
    | {
        "current": st.floats(1, 80).map(lambda x: f"{x:.4g}"),
        "surge_current": st.sampled_from(["", "", "20", "60", "120"]),
        "surge_time": st.sampled_from(["0.05", "0.5", "3"]),
        "length": st.floats(0.3, 12).map(lambda x: f"{x:.4g}"),
        "insulation": st.sampled_from(["60", "75", "90", "105", "125"]),
        "ambient": st.sampled_from(["20", "30", "45"]),
        "capacity": st.sampled_from(["7", "40", "70", "100", "200"]),
    }
)


def run(inputs, **changed):
    return calc.run("fuse-choice", inputs | changed)


def value(answer, key):
    return answer.values[key].value


@given(ANYTHING)
@settings(max_examples=300)
def test_every_input_has_a_finite_answer(inputs):
    answer = run(inputs)
    for v in answer.values.values():
        assert v.text
        assert all(x is None or math.isfinite(x) for x in (v.value, v.low, v.high))
        q = next(o for o in CHECK.outputs if o.key == v.key).quantity
        assert v.value is None or q.low <= v.value <= q.high
    assert (value(answer, "fuse_rating") is None) <= (answer.level == "stop")
    assert all(v.text and v.because for v in answer.verdicts)


@given(LIKELY)
@settings(max_examples=400)
def test_the_chosen_fuse_lies_in_the_window_and_saves_the_cable(inputs):
    answer = run(inputs)
    rating = value(answer, "fuse_rating")
    assume(rating is not None)
    assert value(answer, "rating_low") <= rating <= value(answer, "rating_high")
    weakest = value(answer, "fault_current")
    if weakest > value(answer, "allowable_current"):
        assert value(answer, "opens_within") <= value(answer, "cable_withstands")
    if value(answer, "opens_within") is None:
        assert weakest <= value(answer, "allowable_current")


@given(LIKELY, st.floats(0, 1))
@settings(max_examples=300)
def test_no_dead_short_along_the_cable_spoils_it(inputs, place):
    """Not only the weakest short at the far end: every current from there to the battery's own terminals."""
    answer = run(inputs)
    rating = value(answer, "fuse_rating")
    weak, strong = value(answer, "fault_current"), value(answer, "breaking_capacity_needed")
    assume(rating is not None and weak > value(answer, "allowable_current"))
    current = weak * (strong / weak) ** place
    size = answer.inputs["size"].value
    stands = adiabatic.withstand(adiabatic.insulation_factor(float(inputs["insulation"])), size.copper)
    family = next(key for key, name in fuse_choice.NAMES.items() if name in answer.verdicts[0].text)
    assert fuse.slowest(family, rating, current) * current**2 <= stands * (1 + 1e-9)


@given(LIKELY, st.floats(1, 3))
@settings(max_examples=300)
def test_more_load_never_yields_a_smaller_fuse(inputs, more):
    one = value(run(inputs), "fuse_rating")
    other = value(run(inputs, current=repr(float(inputs["current"]) * more)), "fuse_rating")
    assume(one is not None and other is not None)
    assert other >= one


@given(ANYTHING, st.sampled_from([c for c in catalogue() if c]), st.data())
def test_a_thicker_cable_never_lowers_the_largest_rating(inputs, family, data):
    sizes = catalogue()[family]
    thin, thick = sorted(data.draw(st.tuples(*[st.integers(0, len(sizes) - 1)] * 2)))
    highs = [value(run(inputs, size=sizes[n].name), "rating_high") for n in (thin, thick)]
    assert highs[0] <= highs[1]


@given(ANYTHING, numbers("length"), numbers("length"))
def test_a_longer_run_never_raises_the_fault_current(inputs, one, other):
    short, long = sorted((one, other), key=float)
    near, far = (run(inputs, length=text).values["fault_current"] for text in (short, long))
    assert far.value <= near.value and far.high <= near.high


@given(ANYTHING, numbers("capacity"), numbers("capacity"))
def test_a_larger_battery_never_needs_less_breaking_capacity(inputs, one, other):
    small, large = sorted((one, other), key=float)
    needs = [value(run(inputs, capacity=text), "breaking_capacity_needed") for text in (small, large)]
    assert needs[0] <= needs[1]


@given(LIKELY)
@settings(max_examples=50)
def test_units_do_not_change_the_answer(inputs):
    plain = run(inputs)
    feet = units.convert(float(inputs["length"]), "m", "ft")
    fahrenheit = units.convert(float(inputs["ambient"]), "degC", "degF")
    milliseconds = 1000 * float(inputs["surge_time"])
    other = run(inputs, length=f"{feet!r} ft", ambient=f"{fahrenheit!r} degF", surge_time=f"{milliseconds!r} ms")
    assert plain.values.keys() == other.values.keys()
    for key, v in plain.values.items():
        expected = v.value if v.value is None else pytest.approx(v.value, rel=1e-9)
        assert other.values[key].value == expected, key


@given(LIKELY)
@settings(max_examples=150)
def test_what_is_advised_in_place_of_a_thin_cable_works(inputs):
    answer = run(inputs)
    assume(value(answer, "fuse_rating") is None)
    because = answer.verdicts[0].because
    if "thinnest cable that would do is " in because:
        size = because.split("would do is ")[1].split(", with a ")[0].replace("\u00a0", " ")
        better = run(inputs, size=size.removesuffix(" overall diameter").replace("²", "2"))
        assert value(better, "fuse_rating") is not None
        assert because.split(", with a ")[1].rstrip(".").endswith(units.show(value(better, "fuse_rating"), "A"))


@pytest.mark.parametrize(
    ("inputs", "level", "rating", "words"),
    [
        # a charger of 25 A on 16 mm² from a starter battery: 40 A bolted down, near the post
        ({"current": "25", "size": "16 mm2", "length": "6 m", "capacity": "70 Ah"}, "caution", 40, "single-bolt"),
        # lamps from a small alarm battery: a brown blade
        ({"current": "5", "size": "1.5 mm2", "capacity": "7 Ah", "chemistry": "agm"}, "ok", 7.5, "blade"),
        # a bare blade on a large lithium battery: it cannot break what that drives
        ({"current": "10", "size": "4 mm2", "chemistry": "lfp", "fuse_type": "blade"}, "stop", 15, "made to break"),
        # a charger on lamp flex
        ({"current": "25", "size": "1.5 mm2"}, "stop", None, "may carry"),
        # 5 A on a strip fuse: none is sold so small
        ({"current": "3", "size": "1.5 mm2", "fuse_type": "strip"}, "stop", None, "is sold"),
        # a pump whose start opens every fuse the thin cable allows
        ({"current": "5", "size": "1 mm2", "surge_current": "60", "surge_time": "5"}, "stop", None, "surge"),
        # twice the current in twice the cable: no cable known here carries 600 A
        ({"current": "600", "size": "4/0 AWG", "insulation": "105"}, "stop", None, "two cables"),
        # the compressor's start asks for a larger blade than its load does
        (
            {"current": "5", "size": "2.5 mm2", "surge_current": "20", "capacity": "7", "chemistry": "agm"},
            "ok",
            15,
            "may open after",
        ),
    ],
)
def test_scenario(inputs, level, rating, words):
    """Common practice, no source."""
    answer = calc.run("fuse-choice", inputs)
    assert answer.level == level
    assert value(answer, "fuse_rating") == rating
    assert any(words in v.text + v.because for v in answer.verdicts)


def test_only_the_150_percent_rule_is_told():
    answer = calc.run("fuse-choice", {"current": "20", "size": "2.5 mm2"})
    assert value(answer, "fuse_rating") > value(answer, "allowable_current")
    told = [v for v in answer.verdicts if "150 %" in v.because]
    assert [v.level for v in told] == ["caution"]


@pytest.mark.parametrize("chemistry", [key for key, _ in CHEMISTRIES])
def test_both_ends_and_place_are_always_told(chemistry):
    answer = calc.run("fuse-choice", {"current": "25", "size": "16 mm2", "chemistry": chemistry})
    place = answer.verdicts[-1]
    assert "both ends" in place.because and "0.178" in place.text
    assert "40 in" in answer.values["furthest_from_battery"].text


def test_a_colour_never_stands_alone():
    text = calc.run("fuse-choice", {"current": "5", "size": "1.5 mm2"}).values["fuse_rating"].text
    assert text.replace("\u00a0", " ") == "7.5 A, brown"


def test_heat_asks_for_a_larger_fuse():
    """40 A becomes 34 A at 65 °C (a maker's row): 34/1.25 = 27.2 A is all that a 40 A fuse carries there."""
    cool, hot = (calc.run("fuse-choice", {"current": "27.2", "size": "16 mm2", "ambient": t}) for t in ("20", "65"))
    assert value(cool, "rating_low") == pytest.approx(34)
    assert value(hot, "rating_low") == pytest.approx(40)


def test_an_engine_bay_counts_as_50_degrees():
    bay, warm = (
        calc.run("fuse-choice", {"current": "20", "size": "10 mm2"} | more)
        for more in ({"engine_bay": "yes"}, {"ambient": "50"})
    )
    assert value(bay, "rating_low") == value(warm, "rating_low")


def test_an_overlong_time_is_only_told_as_5_s_and_more():
    answer = calc.run("fuse-choice", {"current": "25", "size": "16 mm2"})
    assert value(answer, "cable_withstands") > 5
    assert answer.values["cable_withstands"].text.replace("\u00a0", " ") == "5 s and more"


@pytest.mark.parametrize(
    ("inputs", "field"),
    [
        ({"size": "16 mm2"}, "current"),
        ({"current": "25"}, "size"),
        ({"current": "25 V", "size": "16 mm2"}, "current"),
        ({"current": "25", "size": "17 AWG"}, "size"),
        ({"current": "25", "size": "16 mm2", "fuse_type": "glass"}, "fuse_type"),
        ({"current": "25", "size": "16 mm2", "surge_time": "0"}, "surge_time"),
        ({"current": "25", "size": "16 mm2", "surge_current": "much"}, "surge_current"),
        ({"current": "25", "size": "16 mm2", "capacity": "0"}, "capacity"),
        ({"current": "25", "size": "16 mm2", "length": "99 m"}, "length"),
    ],
)
def test_bad_input_is_told_at_its_field(inputs, field):
    with pytest.raises(calc.InputError) as problem:
        calc.run("fuse-choice", inputs)
    assert list(problem.value.errors) == [field]
