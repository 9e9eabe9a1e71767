"""The check "relay settings": the trade's own experience, what a fitter must be told, and what must never happen."""

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import calc
from calc.checks.relay_settings import CHECK
from calc.setup.model import SetUp
from tests.calc.test_bad_input import finite

CHEMISTRIES = ("flooded", "calcium", "agm", "gel", "lfp")
VAN = {"length": "6 m", "size": "16 mm2", "return_path": "body"}
RUSH = {**VAN, "length": "1 m", "size": "95 mm2", "capacity": "200 Ah", "charge": "0 %"}
"""A large flat battery on short thick cable: nothing limits the rush."""


def ask(**inputs):
    return calc.run("relay-settings", {**VAN, **inputs})


def value(answer, key):
    return answer.values[key].value


def words(answer, level=None):
    chosen = [v for v in answer.verdicts if level in (None, v.level)]
    return " ".join(f"{v.text} {v.because}" for v in chosen).replace("\u00a0", " ")


def holds(answer):
    """Return whether it closes and stays closed."""
    opens = ("The relay chatters", "The relay buzzes")
    return value(answer, "sensed_after") is not None and not any(v.text.startswith(opens) for v in answer.verdicts)


# The trade's own experience: common practice, no source


def test_usual_set_points_hold_in_a_usual_van():
    """Connects at 13.3 V, disconnects at 12.8 V: relays so set are sold and work. Common practice, no source."""
    answer = ask()
    assert "The relay holds" in answer.verdicts[0].text
    assert answer.level in ("ok", "caution")
    assert value(answer, "sensed_after") > 12.8
    assert value(answer, "second_gets") > 14


def test_a_large_flat_battery_on_short_thick_cable_makes_it_chatter():
    """Common practice, no source."""
    answer = ask(**RUSH)
    assert answer.level == "stop"
    assert "The relay chatters" in words(answer, "stop")
    assert "20 s or more" in words(answer, "stop")
    assert value(answer, "sensed_after") < 12.8
    assert value(answer, "inrush_current") > 80
    assert value(answer, "holds_from") > 20


def test_without_delay_there_may_be_no_steady_position():
    answer = ask(**RUSH, delay="0 s")
    assert "no steady position" in words(answer, "stop")
    assert "weld or wear" in words(answer, "stop")
    assert answer.level == "stop"


def test_what_is_advised_against_chatter_cures_it():
    bad = ask(**RUSH)
    point = math.floor(10 * value(bad, "lowest_disconnect")) / 10
    assert f"{point:.1f} V" in words(bad, "stop")
    assert holds(ask(**RUSH, disconnects_at=f"{point} V"))
    assert holds(ask(**RUSH | {"charge": f"{math.ceil(value(bad, 'holds_from'))} %"}))
    near = RUSH | {"disconnects_at": f"{value(bad, 'lowest_disconnect') + 0.01:.4f} V"}
    delay = value(ask(**near), "delay_needed")
    assert 10 < delay < 600
    assert holds(ask(**near, delay=f"{delay * 1.001:.6g} s")) and not holds(ask(**near, delay=f"{delay * 0.99:.6g} s"))


def test_thicker_cable_is_not_said_to_cure_a_rush():
    assert "no cure" in words(ask(**RUSH), "stop")
    assert value(ask(**RUSH | {"size": "16 mm2"}), "sensed_closing") > value(ask(**RUSH), "sensed_closing")


def test_a_smart_alternator_opens_the_relay_while_driving():
    """It may fall to 12.2 to 12.9 V while cruising: from memory."""
    answer = ask(alternator_voltage="12.5 V")
    assert "drops out while you drive" in answer.verdicts[0].text
    assert "smart" in words(answer) and "ignition wire" in words(answer)
    assert value(answer, "sensed_closing") is None


def test_an_alternator_below_the_connecting_point_never_connects():
    answer = ask(alternator_voltage="13.0 V")
    assert "never connects" in answer.verdicts[0].text
    assert all(v.level != "ok" or "engine off" in v.text for v in answer.verdicts)


def test_an_alternator_that_gives_nothing_never_connects():
    assert value(ask(alternator_current="0 A"), "sensed_closing") is None


def test_more_load_than_the_alternator_gives_drops_out_and_no_charger_is_advised():
    answer = ask(load="60 A", alternator_current="30 A")
    assert "drops out while you drive" in words(answer)
    assert "ignition wire" not in words(answer)


def test_an_alternator_hardly_above_the_point_drops_out_for_want_of_volts():
    text = words(ask(alternator_voltage="12.81 V", alternator_current="90 A"))
    assert "drops out while you drive" in text and "hardly more" in text and "at most 90 A" not in text


def test_points_must_lie_apart_the_right_way():
    for connects, disconnects in (("12.8 V", "13.3 V"), ("13 V", "13 V")):
        answer = ask(connects_at=connects, disconnects_at=disconnects)
        assert answer.level == "stop"
        assert "connect above where it disconnects" in answer.verdicts[0].text


def test_lithium_wants_a_charger_whatever_the_points():
    for points in ({}, {"disconnects_at": "13.2 V"}, {"sense_side": "either"}):
        answer = ask(chemistry="lfp", **points)
        assert answer.level == "stop"
        assert "put a charger between" in words(answer, "stop")
        assert not [v for v in answer.verdicts if v.level == "ok"]
        assert any("below 0 °C" in text for text in answer.cautions)


def test_a_relay_that_looks_at_both_sides_is_kept_closed_by_lithium():
    """Lithium iron phosphate rests at 13.3 V and above when nearly full: Naumann 2018."""
    assert "keeps this relay closed" in words(ask(chemistry="lfp", sense_side="either", connects_at="13.3 V"), "stop")
    assert "keeps this relay closed" not in words(ask(chemistry="lfp", connects_at="13.3 V"))


def test_joined_to_lithium_it_stays_joined_until_the_second_battery_is_low():
    answer = ask(chemistry="lfp", load="4 A")
    assert 18 < value(answer, "parts_after") < 27
    assert value(answer, "starter_left") > 95


def test_usual_points_part_in_time_with_the_engine_off():
    """A relay that parts at 12.8 V leaves a starter battery nearly full. Common practice, no source."""
    answer = ask()
    assert value(answer, "starter_left") > 85
    assert 0.1 < value(answer, "parts_after") < 10


def test_a_point_far_below_resting_voltage_leaves_too_little_to_start():
    answer = ask(disconnects_at="12.0 V")
    assert answer.level == "stop"
    assert value(answer, "starter_left") < 50
    assert "may not start" in words(answer, "stop")


def test_a_point_below_a_flat_battery_never_parts():
    answer = ask(disconnects_at="11 V")
    assert answer.level == "stop"
    assert value(answer, "parts_after") is None and value(answer, "starter_left") == 0
    assert "does not part in time" in words(answer, "stop")


def test_without_load_a_low_point_holds_the_pair_joined():
    answer = ask(disconnects_at="12.5 V", load="0 A")
    assert value(answer, "parts_after") is None
    assert "no load" in words(answer, "caution")


def test_an_alternator_that_gives_enough_does_not_let_the_starter_battery_sink():
    assert "drop out after some minutes" in words(ask(alternator_current="30 A"))
    assert "drop out after some minutes" not in words(ask(alternator_current="150 A"))


def test_left_blank_the_worst_of_all_charges_is_answered():
    """The corners of the grid are its worst: every cell of it senses as much or more on closing."""
    worst = ask()
    for starter in range(50, 101, 10):
        for second in range(0, 101, 10):
            cell = ask(charge=f"{second} %", starter_charge=f"{starter} %")
            assert value(cell, "sensed_closing") >= value(worst, "sensed_closing") - 1e-9
            assert value(cell, "sensed_after") >= value(worst, "sensed_after") - 1e-9
            assert worst.values["sensed_closing"].low - 1e-9 <= value(cell, "sensed_closing")
            assert value(cell, "sensed_closing") <= worst.values["sensed_closing"].high + 1e-9
            assert holds(cell) or not holds(worst)


def test_it_starts_from_a_set_up():
    s = SetUp("", {}).changed(("link", 0, "connects_at"), "13.6 V").changed(("run", 0, "length"), "4 m")
    s = s.changed(("second", 0, "capacity"), "80 Ah").changed(("second", 1, "capacity"), "80 Ah")
    entries = calc.run("relay-settings", {}, s).inputs
    assert entries["connects_at"].value == 13.6 and entries["length"].value == 4
    assert entries["capacity"].value == 160
    assert entries["alternator_current"].start.assumed
    assert entries["return_path"].value == "body"


# What must never happen

entries = st.fixed_dictionaries(
    {
        "length": st.floats(0.1, 60),
        "size": st.sampled_from(["2.5 mm2", "16 mm2", "50 mm2", "6 AWG", "2 SAE", "6 mm"]),
        "connects_at": st.one_of(st.floats(10, 16), st.floats(13, 13.7)),
        "disconnects_at": st.one_of(st.floats(10, 16), st.floats(12.4, 13)),
        "delay": st.one_of(st.just(0.0), st.floats(0, 600)),
        "sense_side": st.sampled_from(["starter", "either"]),
        "alternator_voltage": st.one_of(st.floats(10, 16), st.floats(13.5, 14.8)),
        "alternator_current": st.one_of(st.just(0.0), st.floats(0, 600), st.floats(10, 90)),
        "chemistry": st.sampled_from(CHEMISTRIES),
        "capacity": st.one_of(st.floats(1, 2000), st.floats(50, 200)),
        "charge": st.one_of(st.none(), st.floats(0, 100)),
        "load": st.one_of(st.just(0.0), st.floats(0, 600), st.floats(0, 20)),
        "starter_chemistry": st.sampled_from(CHEMISTRIES),
        "starter_capacity": st.one_of(st.floats(1, 2000), st.floats(40, 110)),
        "starter_charge": st.one_of(st.none(), st.floats(0, 100)),
        "return_path": st.sampled_from(["cable", "body"]),
        "ambient": st.floats(-40, 120),
        "joints": st.integers(0, 100),
    }
)


def run(inputs, **changes):
    return calc.run("relay-settings", {**inputs, **changes})


@settings(max_examples=300)
@given(entries)
def test_any_entry_within_limits_is_answered_with_finite_numbers(inputs):
    answer = run(inputs)
    assert answer.verdicts and finite(answer.to_dict())
    json.dumps(answer.to_dict(), allow_nan=False)
    for v in answer.values.values():
        if v.value is not None:
            quantity = next(o for o in CHECK.outputs if o.key == v.key).quantity
            assert quantity.low <= v.value <= quantity.high or v.key.startswith("sensed") or v.key == "second_gets"
        if v.low is not None:
            assert v.low - 1e-9 <= v.value <= v.high + 1e-9
    for key in ("starter_left", "holds_from"):
        assert value(answer, key) is None or 0 <= value(answer, key) <= 100
    if any(v.level == "stop" for v in answer.verdicts):
        first = [v.level for v in answer.verdicts]
        assert "ok" not in first[first.index("stop") :]


@given(entries, st.floats(0, 2))
def test_a_higher_alternator_voltage_never_lowers_the_sensed_voltage(inputs, more):
    high = run(inputs, alternator_voltage=min(16, inputs["alternator_voltage"] + more))
    low = run(inputs)
    assert value(high, "sensed_open") >= value(low, "sensed_open") - 1e-9
    assert value(high, "sensed_steady") >= value(low, "sensed_steady") - 1e-9
    assert value(low, "sensed_closing") is None or value(high, "sensed_closing") is not None


@given(entries, st.floats(0, 2))
def test_a_lower_disconnecting_point_never_turns_hold_into_chatter(inputs, less):
    before = run(inputs)
    after = run(inputs, disconnects_at=max(10, inputs["disconnects_at"] - less))
    assert value(after, "sensed_closing") == value(before, "sensed_closing")
    assert holds(after) or not holds(before)


@given(entries, st.floats(0, 600))
def test_a_longer_delay_never_turns_hold_into_chatter(inputs, more):
    before, after = run(inputs), run(inputs, delay=min(600, inputs["delay"] + more))
    assert holds(after) or not holds(before)


@given(entries)
def test_thicker_cable_never_makes_the_rush_smaller(inputs):
    thin, thick = (run(inputs, size=size, load=0) for size in ("10 mm2", "25 mm2"))
    assert value(thin, "inrush_current") is None or (
        value(thick, "inrush_current") >= value(thin, "inrush_current") - 1e-9
    )


@given(entries)
def test_a_disconnecting_point_at_what_is_advised_holds(inputs):
    answer = run(inputs)
    point = value(answer, "lowest_disconnect") - 1e-6
    if value(answer, "sensed_closing") is not None and 10 <= point <= 16:
        again = run(inputs, disconnects_at=point)
        assert holds(again)
        assert "drops out while you drive:" not in words(again)


@given(entries)
def test_units_cannot_change_an_answer(inputs):
    other = inputs | {
        "length": f"{inputs['length'] / 0.3048!r} ft",
        "delay": f"{inputs['delay'] / 60!r} min",
        "ambient": f"{inputs['ambient'] * 9 / 5 + 32!r} degF",
        "connects_at": f"{inputs['connects_at'] * 1000!r} mV",
        "load": f"{inputs['load'] * 1000!r} mA",
    }
    try:
        one, two = run(inputs), run(other)
    except calc.InputError as edge:  # a limit itself, passed by rounding
        assert "must be between" in str(edge)
        return
    for key in one.values:
        if value(one, key) is None or value(two, key) is None:
            continue
        if key in ("parts_after", "starter_left"):  # steps of time
            assert value(one, key) == pytest.approx(value(two, key), rel=1e-4, abs=1e-2)
        else:
            assert value(one, key) == pytest.approx(value(two, key), rel=1e-6, abs=1e-6)
