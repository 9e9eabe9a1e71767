"""The wiring run: each design is verified by other code, none can be thinner, and its words keep people safe."""

import itertools
import math

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

import calc
from calc.checks import wiring_run
from calc.checks.fuse_choice import NAMES
from calc.physics import run_design
from calc.physics.cable_sizes import catalogue, metric
from calc.setup import demos, starts
from calc.setup.model import SetUp, take_in
from calc.shared_fields import CHEMISTRIES
from tests.calc import run_verifier as other

CHECK = calc.checks()["wiring-run"]
LENGTHS = ("length_1", "length_2", "load_length")


def numbers(low, high):
    return st.floats(low, high).map(lambda x: float(f"{x:.4g}"))


INPUTS = {
    "link": st.sampled_from(["wire", "switch", "relay", "charger"]),
    "current": numbers(2, 80),
    "source_voltage": numbers(12, 15),
    "length_1": numbers(0.3, 12),
    "length_2": numbers(0.1, 5),
    "load_length": numbers(0.2, 8),
    "zone_1": st.sampled_from(["engine_bay", "under", "cabin"]),
    "zone_2": st.sampled_from(["engine_bay", "under", "cabin"]),
    "return_path": st.sampled_from(["cable", "body"]),
    "engine_bay_heat": numbers(20, 100),
    "ambient": numbers(-10, 55),
    "insulation": st.sampled_from([60, 75, 90, 105, 125, 200]),
    "bundle": st.integers(1, 30).map(float),
    "starter_chemistry": st.sampled_from([key for key, _ in CHEMISTRIES]),
    "starter_capacity": numbers(30, 150),
    "chemistry": st.sampled_from([key for key, _ in CHEMISTRIES]),
    "capacity": numbers(20, 400),
    "allowed_drop": st.sampled_from([1.0, 2.0, 3.0, 5.0, 10.0]),
    "joints": st.integers(0, 16).map(float),
    "load_current": numbers(0.5, 60),
    "load_surge": st.one_of(st.none(), numbers(1, 200)),
    "metal": st.sampled_from(["copper", "copper", "cca"]),
    "family": st.sampled_from(["metric", "metric", "awg", "sae"]),
}
RUNS = st.fixed_dictionaries(INPUTS)
VAN = {
    "link": "relay", "current": 25.0, "source_voltage": 14.2, "length_1": 5.0, "length_2": 1.0, "load_length": 2.0,
    "zone_1": "engine_bay", "zone_2": "cabin", "return_path": "cable", "engine_bay_heat": 60.0, "ambient": 35.0,
    "insulation": 75, "bundle": 2.0, "starter_chemistry": "calcium", "starter_capacity": 70.0, "chemistry": "agm",
    "capacity": 100.0, "allowed_drop": 3.0, "joints": 8.0, "load_current": 15.0, "load_surge": None, "metal": "copper",
    "family": "metric",
}  # fmt: skip


def run(inputs, **changed):
    return calc.run("wiring-run", inputs | changed)


def value(answer, key):
    return answer.values[key].value


def designed(answer, inputs):
    """Return per piece: the rung in the other code's list of sizes, or None."""
    listed = [name for name, _ in other.sizes(inputs["family"], inputs["metal"])]
    found = []
    for n in (1, 2, 3):
        text = answer.values[f"size_{n}"].text.replace("\u00a0", " ").replace("²", "2")
        found.append(listed.index(text) if value(answer, f"size_{n}") is not None else None)
    return found


def fitted(answer):
    """Return the fuses by the words of the verdicts: (kind, rating) per piece."""
    found = {}
    for verdict in answer.verdicts:
        for n, piece in enumerate(wiring_run.PIECES):
            if verdict.text.startswith(piece + ":") and " and a " in verdict.text:
                words = verdict.text.split(" and a ")[1].split(" at the ")[0]
                kind = next(key for key, name in NAMES.items() if words.startswith(name + " of"))
                found[n] = (kind, value(answer, f"fuse_{n + 1}"))
    return found


# Verified by other code


@given(RUNS)
@settings(max_examples=150)
@example(VAN)
@example(VAN | {"link": "charger", "source_voltage": 12.5, "return_path": "body"})
def test_every_design_stands_up_to_other_code(inputs):
    """Volts, heat, fuses, and dead shorts at 0 to 100 % of each piece, from both ends, weak and strong batteries."""
    answer = run(inputs)
    rungs, fuses = designed(answer, inputs), fitted(answer)
    listed = [ohms for _, ohms in other.sizes(inputs["family"], inputs["metal"])]
    for task in other.tasks(inputs):
        if all(rungs[n] is not None for n in task["pieces"]):
            per_km = {n: listed[rungs[n]] for n in task["pieces"]}
            assert other.fails(task, per_km, [fuses[n] for n in task["pieces"]]) is None
        else:
            assert all(rungs[n] is None for n in task["pieces"])
            assert other.fails(task, dict.fromkeys(task["pieces"], listed[-1]))
            assert answer.level == "stop"


@given(RUNS)
@settings(max_examples=100)
@example(
    VAN
    | {"link": "charger", "current": 73.0, "source_voltage": 12.0, "length_1": 1.0, "length_2": 1.0, "joints": 0.0}
    | {"zone_2": "engine_bay", "insulation": 60, "engine_bay_heat": 20.0, "chemistry": "flooded", "capacity": 20.0}
)
def test_one_size_thinner_anywhere_breaks_a_limit(inputs):
    """Where the two only disagree by rounding, at a loss within 1e-5 of what is allowed, either may be right."""
    answer = run(inputs)
    rungs = designed(answer, inputs)
    listed = [ohms for _, ohms in other.sizes(inputs["family"], inputs["metal"])]
    for task in other.tasks(inputs):
        for n in task["pieces"]:
            if rungs[n]:
                per_km = {m: listed[rungs[m] - (m == n)] for m in task["pieces"]}
                assert other.fails(task | {"allowed": task["allowed"] * (1 - 1e-5)}, per_km)


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"current": 45.0, "length_2": 3.0},
        {"length_1": 2.0, "length_2": 2.0, "return_path": "body"},
        {"family": "sae", "current": 12.0, "allowed_drop": 5.0},
        {"metal": "cca", "link": "wire"},
        {"bundle": 4.0, "insulation": 105, "current": 60.0},
    ],
)
def test_no_other_pair_of_sizes_has_less_copper(changes):
    """Two pieces share one loss: every pair of sizes is tried by the other code, and the least copper is chosen."""
    inputs = VAN | {"family": "awg"} | changes
    listed = [ohms for _, ohms in other.sizes(inputs["family"], inputs["metal"])]
    task = other.tasks(inputs)[0]

    def volume(pair):
        return inputs["length_1"] / listed[pair[0]] + inputs["length_2"] / listed[pair[1]]

    chosen = tuple(designed(run(inputs), inputs)[:2])
    cheaper = [p for p in itertools.product(range(len(listed)), repeat=2) if volume(p) < volume(chosen) * (1 - 1e-9)]
    for pair in sorted(cheaper, key=volume, reverse=True):
        assert other.fails(task, {0: listed[pair[0]], 1: listed[pair[1]]}), pair


@given(RUNS)
@settings(max_examples=60)
def test_the_voltages_are_those_of_the_other_solver(inputs):
    answer = run(inputs)
    rungs = designed(answer, inputs)
    assume(rungs[0] is not None and rungs[1] is not None)
    listed = [ohms for _, ohms in other.sizes(inputs["family"], inputs["metal"])]
    found = []
    for task in other.tasks(inputs)[:-1]:
        laid = [(task["all"][n], listed[rungs[n]]) for n in task["pieces"]]
        found.append(other.warm(task["volts"], laid, task["fixed"], task["both"], **task["draws"]))
    assert value(answer, "battery_voltage") == pytest.approx(found[-1][1], rel=1e-7)
    if inputs["link"] == "charger":
        assert value(answer, "charger_input_voltage") == pytest.approx(found[0][1], rel=1e-7)
        assert value(answer, "input_current") == pytest.approx(found[0][0], rel=1e-7)


# More never asks for less. Two pieces that share a loss may trade copper, so their sum is compared.


def volumes(inputs):
    """Return the copper of each task, infinite where no size will do [ohm per km as a measure, times m]."""
    answer = run(inputs)
    rungs = designed(answer, inputs)
    listed = [ohms for _, ohms in other.sizes(inputs["family"], inputs["metal"])]
    return [
        sum(inputs[LENGTHS[n]] / listed[rungs[n]] for n in task["pieces"])
        if all(rungs[n] is not None for n in task["pieces"])
        else math.inf
        for task in other.tasks(inputs)
    ]


@given(RUNS, st.sampled_from([*LENGTHS, "bundle", "current", "load_current", "joints"]), st.floats(1, 3))
@settings(max_examples=150)
def test_more_length_bundle_current_or_joints_never_needs_less_copper(inputs, name, more):
    low, high = CHECK.field(name).limits
    larger = min(high, math.ceil(inputs[name] * more) if name == "bundle" else inputs[name] * more)
    for one, other_one in zip(volumes(inputs), volumes(inputs | {name: larger}), strict=True):
        assert other_one >= one * (1 - 1e-9)


@given(RUNS, st.sampled_from(["ambient", "engine_bay_heat"]), st.floats(0, 40))
@settings(max_examples=100)
def test_more_heat_never_needs_less_copper(inputs, name, more):
    larger = min(CHECK.field(name).limits[1], inputs[name] + more)
    for one, other_one in zip(volumes(inputs), volumes(inputs | {name: larger}), strict=True):
        assert other_one >= one * (1 - 1e-9)


@given(RUNS, st.sampled_from(["length_1", "length_2", "load_length"]), st.floats(1, 3))
@settings(max_examples=60)
def test_with_a_charger_each_piece_stands_alone(inputs, name, more):
    """A longer piece there is never thinner, and the others stay as they are."""
    inputs = inputs | {"link": "charger"}
    one = designed(run(inputs), inputs)
    two = designed(run(inputs | {name: inputs[name] * more}), inputs)
    for n, length in enumerate(LENGTHS):
        if length == name:
            assert two[n] is None or (one[n] is not None and two[n] >= one[n])
        else:
            assert two[n] == one[n]


@given(RUNS)
@settings(max_examples=100)
def test_every_answer_is_whole(inputs):
    answer = run(inputs)
    for v in answer.values.values():
        assert v.text and (v.value is None or math.isfinite(v.value))
    stops = [v for v in answer.verdicts if v.level == "stop"]
    missing = [n for n in (1, 2, 3) if value(answer, f"size_{n}") is None]
    assert not missing or stops
    assert (answer.design is None) == bool(missing)
    for n in (1, 2, 3):
        assert (value(answer, f"size_{n}") is None) == (value(answer, f"fuse_{n}") is None)
    words = " ".join(v.text + v.because for v in answer.verdicts)
    assert "  " not in words and "None" not in words and "nan" not in words


# By hand


def test_a_charger_by_hand():
    """25 A at 14.5 V (AGM, the middle of 14.3 to 14.7), nine tenths of it got out: 402.8 W.

    25 mm² of class 5 copper has 0.780 ohm/km: 12 m of it 9.36 mohm at 20 °C, 10.91 mohm at 62 °C, with four joints of
    0.2 mohm 11.7 mohm. I·(13.8 − I·R) = 402.8 gives 29.9 A and 13.45 V: 2.5 %. 16 mm² has 1.21 ohm/km, 3.9 %.
    """
    answer = calc.run("wiring-run", dict(CHECK.example))
    resistance = 12 * 0.780e-3 * (234.5 + 62) / 254.5 + 4 * 0.0002
    power = 14.5 * 25 / 0.9
    current = (13.8 - math.sqrt(13.8**2 - 4 * resistance * power)) / (2 * resistance)
    assert value(answer, "size_1") == 25
    assert value(answer, "input_current") == pytest.approx(current, rel=1e-3)
    assert value(answer, "charger_input_voltage") == pytest.approx(13.8 - current * resistance, rel=1e-3)
    assert value(answer, "fuse_1") == 50  # 1.25 × 29.9 ÷ 0.865 = 43.2 A at 60 °C, and 74 A may flow
    assert value(answer, "battery_voltage") == pytest.approx(14.39, abs=0.01)


def test_a_relay_by_hand():
    """25 A through 2 × 6 m of 25 mm² at 62 °C and 2 × 0.5 m of 6 mm² at 46 °C, 8 joints, a contact of 0.5 mohm."""
    answer = calc.run("wiring-run", {"current": "25 A", "length_1": "6 m"})
    warm = 12 * 0.780e-3 * (234.5 + 61.8) / 254.5 + 1 * 3.30e-3 * (234.5 + 46.2) / 254.5
    lost = 25 * (warm + 8 * 0.0002 + 0.0005)
    assert (value(answer, "size_1"), value(answer, "size_2")) == (25, 6)
    assert value(answer, "loss") == pytest.approx(lost, rel=2e-3)
    assert value(answer, "battery_voltage") == pytest.approx(14.2 - lost, abs=1e-3)


@pytest.mark.parametrize(
    ("changed", "key", "level", "words"),
    [
        # the air is as hot as the insulation stands
        ({"engine_bay_heat": 90.0}, "size_1", "stop", "as hot as its insulation stands"),
        # 60 m of any cable loses too much
        ({"length_1": 60.0, "current": 60.0}, "size_1", "stop", "allow more loss"),
        # a large charger at the end of a long, thin-voltaged run finds no operating point
        (
            {"link": "charger", "current": 200.0, "length_1": 60.0, "source_voltage": 12.0},
            "size_1", "stop", "This charger cannot draw that much through this cable: at most",
        ),
        # no cable carries 500 A
        ({"current": 500.0, "length_1": 1.0}, "size_1", "stop", "overheat"),
        # loads that no cable feeds
        ({"load_current": 400.0}, "size_3", "stop", "thick enough"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_a_stop_that_says_what_binds_and_what_to_change(changed, key, level, words):
    answer = run(VAN, **changed)
    assert answer.level == level and value(answer, key) is None
    assert answer.verdicts[0].level == "stop"
    assert any(words in f"{v.text} {v.because}" for v in answer.verdicts if v.level == level)
    assert answer.design is None


@pytest.mark.parametrize(
    ("changed", "level", "words"),
    [
        ({}, "ok", "needs a fuse at both ends"),
        ({}, "ok", "within 0.178 m of its battery's post"),
        ({}, "ok", "fit the fuses last"),
        ({"chemistry": "lfp", "capacity": 200.0}, "stop", "made to break 2000"),
        ({"chemistry": "lfp"}, "caution", "can overheat the alternator"),
        ({"link": "charger"}, "ok", "lets no short through"),
        ({"metal": "cca"}, "caution", "61"),
        ({"return_path": "body"}, "caution", "The body as return"),
        ({"bundle": 5.0}, "ok", "applied here as prudence"),
        ({"source_voltage": 13.5}, "caution", "No cable makes up for that"),
        ({"family": "sae"}, "caution", "thinner than AWG"),
    ],
)
def test_words_that_keep_people_safe(changed, level, words):
    answer = run(VAN, **changed)
    said = [(v.level, f"{v.text} {v.because}".replace("\u00a0", " ")) for v in answer.verdicts]
    assert any(its_level == level and words in text for its_level, text in said), words


def test_each_piece_says_what_binds_it_and_what_a_size_less_or_more_would_do():
    for link in ("relay", "charger"):
        answer = run(VAN, link=link)
        said = [v.because for v in answer.verdicts if v.text.startswith(wiring_run.PIECES)]
        assert len(said) == 3
        for because in said:
            assert "decide" in because and "A size thicker" in because


def test_a_fuse_that_cannot_break_the_battery_is_not_chosen_where_another_can():
    """15 A of loads on a 100 Ah AGM: even weak it drives 1200 A, more than a blade fuse breaks."""
    answer = run(VAN, load_current=10.0)
    assert fitted(answer)[2][0] in ("bolt", "strip")
    small = run(VAN, load_current=10.0, capacity=20.0)
    assert fitted(small)[2][0] == "blade"


# The set-up


def test_two_demos_are_answered():
    island, desert = (calc.run("wiring-run", {}, demos.demo(name)) for name in demos.NAMES)
    assert island.inputs["link"].value == "charger" and island.inputs["length_1"].value == pytest.approx(6.2)
    assert island.inputs["source_voltage"].value == 12.5 and island.inputs["source_voltage"].start.assumed
    assert island.inputs["zone_1"].value == "engine_bay" and island.inputs["length_2"].value == pytest.approx(0.8)
    assert island.inputs["load_current"].value == pytest.approx(3.8 + 1.6 + 1.2 + 2)
    assert island.level == "caution" and island.design and len(island.plots) == 2
    assert desert.inputs["link"].value == "relay" and desert.inputs["chemistry"].value == "lfp"
    assert desert.level == "stop"  # no fuse known here is sure to break what that battery drives
    assert desert.design


@pytest.mark.parametrize("name", demos.NAMES)
def test_a_run_written_into_a_set_up_is_read_again(name):
    s = demos.demo(name)
    answer = calc.run("wiring-run", {}, s)
    changed = starts.with_run(s, answer.design)
    assert not changed.problems() and changed.count("run") == s.count("run")
    last = changed.count("run") - 1
    for n in range(last + 1):
        key = "size_2" if n == last else "size_1"
        assert changed.known("run", n, "size").entry.value.area == value(answer, key)
        assert changed.known("run", n, "length").text == s.known("run", n, "length").text
    assert changed.known("run", 0, "fuse").entry.value == value(answer, "fuse_1")
    assert changed.known("run", last, "end_fuse").entry.value == value(answer, "fuse_2")
    again = calc.run("wiring-run", {}, changed)
    assert {k: v.value for k, v in again.values.items()} == {k: v.value for k, v in answer.values.items()}


@pytest.mark.parametrize("there", [{}, {"run": [{"length": "7 m", "insulation": "105 degC"}]}])
def test_a_run_written_where_less_than_two_pieces_are_known_brings_its_lengths(there):
    s = take_in(there)
    answer = calc.run("wiring-run", {}, s)
    changed = starts.with_run(s, answer.design)
    assert changed.count("run") == 2 and not changed.problems()
    length = there["run"][0]["length"] if there else "6 m"
    assert changed.known("run", 0, "length").text == length
    assert changed.known("run", 1, "length").text == "0.5 m"
    again = calc.run("wiring-run", {}, changed)
    for n in (1, 2):
        assert value(again, f"size_{n}") == value(answer, f"size_{n}")


def test_a_design_is_a_set_up_without_problems():
    s = run(VAN).design
    assert isinstance(s, SetUp) and not s.problems()
    assert s.known("run", 1, "end_fuse").entry.value > 0 and s.known("run", 1, "fuse").entry.value == 0


# The search


@given(st.lists(st.integers(0, 12), min_size=1, max_size=12), st.integers(1, 12))
def test_a_staircase_holds_every_corner(heights, columns):
    """Any set that is closed upwards: a row fits from a column on that never grows from row to row."""
    falling = sorted(heights, reverse=True)

    def fits(row, column):
        return column >= falling[row]

    good = {(r, c) for r in range(len(falling)) for c in range(columns) if fits(r, c)}
    corners = {(r, c) for r, c in good if (r - 1, c) not in good and (r, c - 1) not in good}
    assert set(run_design.staircase(len(falling), columns, fits)) == corners


@given(st.integers(1, 40), st.integers(0, 45))
def test_the_first_that_fits(count, start):
    expected = start if start < count else None
    assert run_design.first(count, lambda n: n >= start) == expected


@given(st.sampled_from(catalogue()["metric"]), numbers(0, 100), numbers(0, 20), st.integers(1, 30), st.integers(0, 9))
def test_heat_and_bundles_never_let_a_cable_carry_more(size, ambient, more, bundle, others):
    one = run_design.lay(size, run_design.Piece(5, 2, 105, ambient, False, bundle))
    hotter = run_design.lay(size, run_design.Piece(5, 2, 105, ambient + more, False, bundle + others))
    bay = run_design.lay(size, run_design.Piece(5, 2, 105, ambient, True, bundle))
    assert hotter.allowable <= one.allowable and bay.allowable <= one.allowable


def test_a_weak_short_that_the_cable_may_carry_needs_no_fuse_to_open():
    assert run_design.clears("bolt", 40, 20, 30, 40, 1.0)
    assert not run_design.clears("bolt", 40, 45, 3000, 40, 1e7)  # 45 A may never open it, and spoils the cable


def test_a_cable_between_two_rungs_is_not_needed():
    assert run_design.lay(metric(16), run_design.Piece(1, 1, 75, 30, False, 1)).volume == pytest.approx(
        metric(16).copper
    )
