"""The check `resting-voltage`: what may never happen, what odd readings are called, and what a camper is told."""

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

import calc
from calc import cautions
from calc.shared_fields import CHEMISTRIES, LEAD_ACID
from calc.tables import table

NAMES = [key for key, _ in CHEMISTRIES]
SLACK = 1e-9
"""Rounding of floats; no judgement hides in it."""


def ask(**inputs):
    return calc.run("resting-voltage", inputs)


def window(kind):
    family = "lead_acid" if kind in LEAD_ACID else "lfp"
    row = table("odd_readings").row(family=family, meaning="resting")
    return row["above"] + 0.001, row["up_to"]


@st.composite
def readings(draw):
    """A reading of a battery at rest, with everything else that may be entered."""
    kind = draw(st.sampled_from(NAMES))
    inputs = {
        "chemistry": kind,
        "voltage": draw(st.floats(*window(kind))),
        "temperature": draw(st.floats(-40, 60)),
        "rested": draw(st.floats(0, 100)),
        "came_from": draw(st.sampled_from(["charge", "load", "unknown"])),
        "capacity": draw(st.floats(1, 2000)),
        "load": draw(st.one_of(st.just(0), st.floats(0.001, 600))),
        "meter_error": draw(st.floats(0, 5)),
    }
    return {k: v if isinstance(v, str) else f"{v:.9f}" for k, v in inputs.items()}


def charge(inputs):
    return ask(**inputs).values["charge"]


@given(readings())
@settings(deadline=None)
def test_every_range_holds_its_value(inputs):
    answer = ask(**inputs)
    q = answer.values["charge"]
    assert 0 <= q.low <= q.value <= q.high <= 100
    for v in answer.values.values():
        for number in (v.value, v.low, v.high):
            assert number is None or math.isfinite(number)
        if v.low is not None:
            assert v.low - SLACK <= v.value <= v.high + SLACK, v.key
    assert answer.verdicts[0].text.endswith(".")


@given(readings(), st.floats(0, 100))
@settings(deadline=None)
def test_a_longer_rest_never_widens_the_range(inputs, more):
    short = charge(inputs)
    long = charge(inputs | {"rested": f"{float(inputs['rested']) + more:.9f}"})
    assert short.low - SLACK <= long.low <= long.high <= short.high + SLACK


@given(readings(), st.floats(0, 5))
@settings(deadline=None)
def test_a_larger_meter_error_never_narrows_it(inputs, more):
    good = charge(inputs)
    poor = charge(inputs | {"meter_error": f"{float(inputs['meter_error']) + more:.9f}"})
    assert poor.low <= good.low + SLACK and good.high <= poor.high + SLACK
    assert poor.value == good.value


@given(readings(), st.floats(0, 1))
@settings(deadline=None)
def test_a_higher_voltage_is_never_less_charge(inputs, share):
    low, high = window(inputs["chemistry"])
    v = float(inputs["voltage"])
    more = inputs | {"voltage": f"{min(high, v + share * (high - v)):.9f}"}
    assume(float(more["voltage"]) >= v)
    a, b = ask(**inputs).values, ask(**more).values
    for key in ("charge", "amp_hours_left", "usable_amp_hours"):
        for part in ("low", "value", "high"):
            assert getattr(a[key], part) <= getattr(b[key], part) + SLACK, (key, part)
    if "freezes_at" in a:
        assert b["freezes_at"].value <= a["freezes_at"].value + SLACK


@given(readings())
@settings(deadline=None)
def test_not_knowing_what_came_before_holds_both(inputs):
    unknown, *known = (charge(inputs | {"came_from": before}) for before in ("unknown", "charge", "load"))
    for q in known:
        assert unknown.low <= q.low + SLACK and q.high <= unknown.high + SLACK


@given(readings())
@settings(deadline=None)
def test_lead_acid_only_freezes(inputs):
    assert ("freezes_at" in ask(**inputs).values) == (inputs["chemistry"] in LEAD_ACID)


@given(readings(), st.floats(0.1, 50), st.floats(0.1, 50))
@settings(deadline=None)
def test_a_larger_load_never_lasts_longer(inputs, amps, more):
    a = ask(**inputs | {"load": f"{amps:.9f}"}).values["hours_left"]
    b = ask(**inputs | {"load": f"{amps + more:.9f}"}).values["hours_left"]
    assume(a.value is not None)
    for part in ("low", "value", "high"):
        assert getattr(b, part) <= getattr(a, part) + SLACK


SAME = (
    ({"voltage": "12.4 V"}, {"voltage": "12400 mV"}),
    ({"temperature": "50 degF"}, {"temperature": "10 degC"}),
    ({"rested": "90 min"}, {"rested": "1.5 h"}),
    ({"rested": "1 day"}, {"rested": "24"}),
    ({"meter_error": "0.5 %"}, {"meter_error": "0.062 V"}),
    ({"meter_error": "62 mV"}, {"meter_error": "0.062 V"}),
    ({"load": "2500 mA"}, {"load": "2.5 A"}),
    ({"capacity": "0.1 kAh"}, {"capacity": "100"}),
)


@pytest.mark.parametrize(("one", "other"), SAME)
@pytest.mark.parametrize("kind", NAMES)
def test_units_cannot_change_an_answer(kind, one, other):
    base = {"chemistry": kind, "voltage": "12.4", "temperature": "10", "load": "7"}
    a, b = ask(**base | one).values, ask(**base | other).values
    assert a.keys() == b.keys()
    for key in a:
        for part in ("value", "low", "high"):
            one_is, other_is = getattr(a[key], part), getattr(b[key], part)
            assert (one_is is None) == (other_is is None)
            assert one_is is None or one_is == pytest.approx(other_is, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize("kind", NAMES)
def test_what_is_left_blank_equals_its_default(kind):
    blank = ask(chemistry=kind, voltage="12.5")
    given_ = ask(
        chemistry=kind,
        voltage="12.5",
        temperature="25 degC",
        rested="1 h",
        came_from="unknown",
        capacity="100 Ah",
        meter_error="0.5 %",
    )
    assert blank.values == given_.values and blank.verdicts == given_.verdicts


def test_capacity_scales_the_ampere_hours():
    one, two = (ask(voltage="12.5", capacity=c).values["amp_hours_left"] for c in ("100", "200"))
    assert two.value == pytest.approx(2 * one.value) and two.low == pytest.approx(2 * one.low)


# Every table of a chemistry lies in the range of a well-rested battery ------------------------------------------

PUBLISHED = [
    *(("flooded", row["voltage"], row["charge"], name) for name in ("bci_rest_voltage", "tm_5_3805_rest_voltage")
      for row in table(name).rows),
    *(("flooded", row["voltage"], row["charge"], "sign_manual") for row in table("sign_manual_rest_voltage").rows),
    *(("agm", row[end], row["charge"], "agm_vehicle") for row in table("agm_vehicle_rest_voltage").rows
      for end in ("voltage_low", "voltage_high")),
    *((kind, row[kind], row["charge"], "memory") for row in table("memory_rest_voltage").rows
      for kind in ("calcium", "gel")),
    # The last row of the LFP curve, 14.1 V, is that of a cell just off the charger; no battery keeps it.
    *(("lfp", 4 * (row["cell"] + side * row["hysteresis"] / 2), row["charge"], "simses_lfp")
      for row in table("simses_lfp_ocv").rows if 5 <= row["charge"] <= 99 for side in (-1, 0, 1)),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "volts", "percent", "source"), PUBLISHED)
def test_the_range_holds_what_each_table_says(kind, volts, percent, source):
    q = ask(chemistry=kind, voltage=f"{volts:.6f}", rested="24 h", temperature="26 degC").values["charge"]
    assert q.low - 0.01 <= percent <= q.high + 0.01


# Readings that mean something else ------------------------------------------------------------------------------

ODD = (
    ("any", "-12.5", "wrong way round"),
    ("any", "-5", "wrong way round"),
    ("any", "0", "Nothing arrives"),
    ("any", "0.02", "Nothing arrives"),
    ("any", "-0.1", "Nothing arrives"),
    ("any", "2", "Next to nothing"),
    ("any", "5", "Next to nothing"),
    ("any", "6.1", "6 V battery"),
    ("lead", "8.4", "Two cells or more"),
    ("lead", "9", "Two cells or more"),
    ("lead", "10", "One of the six cells"),
    ("lead", "10.5", "One of the six cells"),
    ("lead", "10.9", "One of the six cells"),
    ("lfp", "9", "its own protection"),
    ("lead", "13.4", "surface charge or a charger"),
    ("any", "14.1", "That is a charger, not a resting battery."),
    ("any", "14.8", "That is a charger, not a resting battery."),
    ("any", "15.6", "out of order"),
    ("any", "17.9", "out of order"),
    ("any", "20", "bare solar panel"),
    ("any", "25.4", "24 V system"),
    ("any", "52", "24 V system"),
)
CASES = [
    (kind, volts, words)
    for family, volts, words in ODD
    for kind in NAMES
    if family == "any" or (family == "lead") == (kind in LEAD_ACID)
]


@pytest.mark.parametrize(("kind", "volts", "words"), CASES)
def test_an_odd_reading_is_called_what_it_is_and_gives_no_charge(kind, volts, words):
    answer = ask(chemistry=kind, voltage=volts, load="3", meter_error="0.05 V")
    assert words in answer.verdicts[0].text
    assert answer.level in ("caution", "stop")
    for key in ("charge", "amp_hours_left", "hours_left", "usable_amp_hours", "hours_to_stop"):
        v = answer.values[key]
        assert v.value is v.low is v.high is None and v.text


@given(st.floats(-60, 60), st.sampled_from(NAMES))
@settings(deadline=None)
def test_every_reading_is_answered(volts, kind):
    answer = ask(chemistry=kind, voltage=f"{volts:.9f}")
    assert answer.verdicts and answer.steps
    low, high = window(kind)
    assert (answer.values["charge"].value is None) == (not low - 0.001 < float(f"{volts:.9f}") <= high)


def test_the_table_of_odd_readings_has_no_gap():
    for family in ("lead_acid", "lfp"):
        rows = [row for row in table("odd_readings").rows if row["family"] == family]
        assert all(a["up_to"] == b["above"] for a, b in zip(rows, rows[1:], strict=False))
        assert rows[0]["above"] < -60 and rows[-1]["up_to"] > 60


@pytest.mark.parametrize("volts", ["15.5", "17"])
def test_overcharge_is_a_stop(volts):
    answer = ask(voltage=volts)
    assert answer.verdicts[0].level == "stop"
    assert cautions.HOT_BATTERY in answer.cautions


# Cold -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", LEAD_ACID)
def test_a_flat_battery_in_hard_frost_may_be_frozen(kind):
    answer = ask(chemistry=kind, voltage="11.7", rested="24 h", temperature="-15 degC")
    assert answer.level == "stop"
    assert any(v.level == "stop" and "frozen" in v.text and "Do not charge" in v.text for v in answer.verdicts)
    assert not any(v.text.startswith("Charge it") for v in answer.verdicts)
    assert cautions.FROZEN in answer.cautions


def test_a_full_battery_in_the_same_frost_is_not():
    answer = ask(voltage="12.7", rested="24 h", temperature="-15 degC")
    assert not any("frozen" in v.text or "freezing" in v.text for v in answer.verdicts)
    assert cautions.FROZEN in answer.cautions


def test_close_to_freezing_is_said():
    freezes = ask(voltage="12.0", rested="24 h", temperature="-5 degC").values["freezes_at"].value
    answer = ask(voltage="12.0", rested="24 h", temperature=f"{freezes + 4:.3f} degC")
    assert any(v.level == "caution" and "close to freezing" in v.text for v in answer.verdicts)


@pytest.mark.parametrize("kind", LEAD_ACID)
def test_a_dead_cell_in_frost_may_be_frozen(kind):
    answer = ask(chemistry=kind, voltage="10.5", temperature="-3 degC")
    assert any(v.level == "stop" and "frozen" in v.text for v in answer.verdicts)


def test_the_careful_end_decides_about_freezing():
    sure, unsure = (ask(voltage="12.2", rested="24 h", meter_error=e).values["freezes_at"] for e in ("0 %", "2 %"))
    assert unsure.value > sure.value


@pytest.mark.parametrize(("degrees", "level"), [("-1", "stop"), ("3", "caution"), ("10", None)])
def test_lfp_is_not_charged_in_frost(degrees, level):
    answer = ask(chemistry="lfp", voltage="13.0", temperature=degrees)
    found = [v.level for v in answer.verdicts if "0 °C" in v.text]
    assert found == ([level] if level else [])
    assert cautions.LITHIUM_COLD in answer.cautions


def test_cold_leaves_less_to_draw():
    """Common practice, no source: at freezing a lead-acid battery gives about three quarters."""
    warm, cold = (
        ask(voltage="12.65", rested="24 h", temperature=t, meter_error="0").values["amp_hours_left"].value
        for t in ("25", "0")
    )
    assert 0.65 <= cold / warm <= 0.8


# What a camper is told -------------------------------------------------------------------------------------------


def test_lfp_on_its_plateau_says_that_it_cannot_tell():
    answer = ask(chemistry="lfp", voltage="13.2", rested="8 h")
    q = answer.values["charge"]
    assert q.high - q.low > 40
    assert answer.verdicts[0].text.startswith("Anywhere from ") and "cannot tell" in answer.verdicts[0].text
    assert "ampere-hours" in answer.verdicts[0].because


def test_a_flooded_battery_straight_off_a_charger_says_so_too():
    answer = ask(voltage="12.5", rested="0 h", came_from="charge")
    assert answer.values["charge"].low < 35
    assert "cannot tell" in answer.verdicts[0].text and "rest" in answer.verdicts[0].because


def test_about_half_full():
    """Common practice, no source: 12.2 to 12.3 V at rest is about half full."""
    answer = ask(chemistry="agm", voltage="12.3", rested="24 h")
    assert answer.verdicts[0].text.startswith("About half full: ")
    assert answer.values["charge"].value == pytest.approx(50, abs=2)


def test_a_night_of_fridge_on_a_good_battery():
    """Common practice, no source: a full 100 Ah runs 2 A through a night and is still above half."""
    answer = ask(chemistry="agm", voltage="12.85", rested="24 h", load="2")
    assert any(v.level == "ok" and "through the night" in v.text for v in answer.verdicts)


def test_a_battery_past_its_stop_is_to_be_charged():
    answer = ask(chemistry="agm", voltage="12.0", rested="24 h", load="2")
    assert any(v.level == "caution" and v.text.startswith("Charge it ") for v in answer.verdicts)
    assert answer.values["usable_amp_hours"].value == 0


def test_a_load_makes_the_reading_low_and_that_is_said():
    assert "lower than the truth" in ask(voltage="12.3", load="4").verdicts[0].because
    assert "lower than the truth" not in ask(voltage="12.3").verdicts[0].because


@pytest.mark.parametrize("load", ["", "0", "0 A"])
def test_no_load_gives_no_hours(load):
    hours = ask(voltage="12.5", load=load).values["hours_left"]
    assert hours.value is None and "load" in hours.text


def test_a_speck_of_a_load_gives_no_hours_either():
    hours = ask(voltage="12.5", load="1 mA").values["hours_left"]
    assert hours.value is None and "months" in hours.text


def test_hours_follow_peukert_above_the_twenty_hour_current():
    """Peukert 1897 with k = 1.1: a full 100 Ah gives 10 A for 9.33 h."""
    hours = ask(chemistry="agm", voltage="13.2", load="10", rested="24 h").values["hours_left"]
    assert hours.value == pytest.approx(9.33, abs=0.01)
    assert hours.low < hours.value < hours.high


def test_hours_below_the_twenty_hour_current_count_no_gain():
    values = ask(chemistry="agm", voltage="12.6", load="2", rested="24 h").values
    assert values["hours_left"].value == pytest.approx(values["amp_hours_left"].value / 2)


@pytest.mark.parametrize(("kind", "stop", "volts"), [("flooded", 50, 12.24), ("agm", 50, 12.3), ("lfp", 20, 12.888)])
def test_where_to_stop(kind, stop, volts):
    values = ask(chemistry=kind, voltage="12.9").values
    assert values["stop_at_charge"].value == stop
    assert values["stop_at_voltage"].value == pytest.approx(volts, abs=0.001)


BAD = (
    ({}, "voltage", "Give the voltage"),
    ({"voltage": "230 V"}, "voltage", "between"),
    ({"voltage": "12 A"}, "voltage", "current"),
    ({"voltage": "12.4", "chemistry": "nicd"}, "chemistry", "one of"),
    ({"voltage": "12.4", "rested": "-1"}, "rested", "between"),
    ({"voltage": "12.4", "temperature": "-80"}, "temperature", "between"),
    ({"voltage": "12.4", "meter_error": "-0.1 V"}, "meter_error", "between"),
    ({"voltage": "12.4", "load": "-3"}, "load", "between"),
    ({"voltage": "12.4", "capacity": "0"}, "capacity", "between"),
    ({"voltage": "12.4", "came_from": "sun"}, "came_from", "one of"),
)


@pytest.mark.parametrize(("inputs", "field", "words"), BAD)
def test_bad_input_is_said_in_a_sentence(inputs, field, words):
    with pytest.raises(calc.InputError) as problem:
        ask(**inputs)
    assert list(problem.value.errors) == [field]
    assert words in problem.value.errors[field]
