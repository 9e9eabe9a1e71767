"""Checks of a single loop say what the network solver says of the same circuit."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

import calc
from calc.physics.network import CurrentLoad, Resistance, Source, solve

SAME = 1e-9


def far_end(voltage, resistance, current):
    """Return the voltage behind a resistance, by the network solver [V]."""
    circuit = (
        Source("source", "near", "0", voltage, 0.0),
        Resistance("loop", "near", "far", resistance),
        CurrentLoad("load", "far", "0", current),
    )
    return solve(circuit).voltages["far"]


@given(current=st.floats(0.5, 100), length=st.floats(0.2, 20), size=st.sampled_from(["6 mm2", "16 mm2", "2/0 AWG"]))
def test_cable_drop(current, length, size):
    answer = calc.run("cable-drop", {"current": current, "length": length, "size": size}).values
    expected = far_end(12.0, answer["loop_resistance"].value, current)
    assert math.isclose(answer["far_end_voltage"].value, expected, abs_tol=SAME)


@pytest.mark.parametrize("current", [0.5, 5, 25, 60])
@pytest.mark.parametrize("milliohm", [0.5, 8, 40])
def test_charge_voltage(current, milliohm):
    inputs = {"source_voltage": "14.2 V", "current": current, "loop_resistance": f"{milliohm} mohm", "chemistry": "agm"}
    arriving = calc.run("charge-voltage", inputs).values["arriving_voltage"].value
    assert math.isclose(arriving, far_end(14.2, milliohm / 1000, current), abs_tol=SAME)
