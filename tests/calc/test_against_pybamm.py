"""Resting voltages against PyBaMM's parameter sets, which nobody here wrote. No network: its telemetry is off."""

import math
import os

import numpy as np
import pytest

from calc.physics import lead_acid, lfp, rest_voltage
from calc.physics.battery import Battery
from calc.tables import table


@pytest.fixture(scope="module")
def pybamm():
    os.environ["PYBAMM_DISABLE_TELEMETRY"] = "true"
    return pytest.importorskip("pybamm")


@pytest.fixture(scope="module")
def prada(pybamm):
    """Return the resting voltage of one Prada2013 cell at a charge [%]."""
    values = pybamm.ParameterValues("Prada2013")
    x0, x100, y100, y0 = pybamm.lithium_ion.get_min_max_stoichiometries(values)
    negative, positive = values["Negative electrode OCP [V]"], values["Positive electrode OCP [V]"]

    def cell(charge):
        x, y = x0 + (x100 - x0) * charge / 100, y0 - (y0 - y100) * charge / 100
        return float((positive(pybamm.Scalar(y)) - negative(pybamm.Scalar(x))).evaluate())

    return cell


@pytest.fixture(scope="module")
def bode(pybamm):
    """Return the resting voltage of six lead-acid cells at a molality [mol/kg]: Bode 1977, as in Sulzer2019."""
    values = pybamm.ParameterValues("Sulzer2019")
    positive = values["Positive electrode open-circuit potential [V]"]
    negative = values["Negative electrode open-circuit potential [V]"]
    return lambda molality: float(lead_acid.CELLS * (positive(molality) - negative(molality)))


ACID = {1.265: 0.353, 1.225: 0.304, 1.19: 0.2615, 1.155: 0.216, 1.12: 0.1735}
"""Specific gravity of sulphuric acid and its share of acid by mass, as handbooks give it near 20 °C: from memory."""


@pytest.mark.parametrize("gravity", ACID)
def test_bci_voltage_stands_on_bode_at_the_same_acid(bode, gravity):
    """Only acid of 1.265 to 1.120 is compared: PyBaMM counts charge down to pure water, a battery's label does not.

    0.03 V: the table is rounded to 0.01 V, and the worst point (1.225) lies 0.026 V above the law; the others
    lie within 0.006 V.
    """
    molality = ACID[gravity] / 0.09808 / (1 - ACID[gravity])
    row = table("bci_rest_voltage").row(gravity=gravity)
    assert row["voltage"] == pytest.approx(bode(molality), abs=0.03)


@pytest.mark.parametrize("charge", range(0, 101, 5))
def test_the_smooth_curve_of_the_model_stands_on_bode_between_the_points_too(bode, charge):
    """The acid's share by mass is read straight between the handbook's figures; 0.03 V, as at the points themselves."""
    gravities = sorted(ACID)
    share = np.interp(lead_acid.gravity(charge), gravities, [ACID[gravity] for gravity in gravities])
    flooded = Battery("flooded", 100)
    volts = flooded.emf(flooded.fullness(charge))
    assert volts == pytest.approx(bode(share / 0.09808 / (1 - share)), abs=0.03)


def test_bci_voltage_stands_near_bode_with_the_sets_own_densities(pybamm, bode):
    """With the constant partial volumes of Sulzer2019 (its water weighs 1029 kg/m³) weak acid is too weak.

    So the gap grows from nothing at full to 0.083 V at flat; 0.09 V is that set's accuracy, not BCI's.
    """
    v = pybamm.ParameterValues("Sulzer2019")
    water, mass = v["Partial molar volume of water [m3.mol-1]"], v["Molar mass of water [kg.mol-1]"]
    acid = v["Partial molar volume of anions [m3.mol-1]"] + v["Partial molar volume of cations [m3.mol-1]"]
    acid_mass = v["Molar mass of anions [kg.mol-1]"] + v["Molar mass of cations [kg.mol-1]"]
    for charge in np.linspace(0, 100, 21):
        density = 1000 * lead_acid.gravity(charge)
        c = (density - mass / water) / (acid_mass - mass * acid / water)
        molality = c * water / ((1 - c * acid) * mass)
        gap = rest_voltage.voltage_at_rest(charge, "flooded") - bode(molality)
        assert -0.01 <= gap <= 0.09


@pytest.mark.parametrize("charge", range(20, 96, 5))
def test_lfp_curve_lies_a_little_above_prada(prada, charge):
    """Prada2013 borrows its graphite from another cell and reads 0.02 to 0.07 V lower per cell all along the plateau.

    Ours is measured on one whole cell, so ours is kept; 0.075 V is the gap found, and it is always on one side.
    """
    gap = lfp.rest_voltage(charge) / lfp.CELLS - prada(charge)
    assert 0 < gap < 0.075


def test_both_lfp_curves_are_flat_in_the_middle(prada):
    """What matters for the answer: from 40 to 70 % neither moves by more than 25 mV a cell, so voltage cannot tell."""
    assert prada(70) - prada(40) < 0.025
    assert (lfp.rest_voltage(70) - lfp.rest_voltage(40)) / lfp.CELLS < 0.025


def test_lfp_curves_part_below_a_fifth(prada):
    """A known disagreement, written down: down there Prada2013 stands more than 0.1 V lower per cell."""
    for charge in (5, 10, 15):
        assert lfp.rest_voltage(charge) / lfp.CELLS - prada(charge) > 0.1


def test_both_lfp_curves_rise_all_the_way(prada):
    charges = np.linspace(1, 99, 50)
    assert np.all(np.diff([prada(q) for q in charges]) > 0)
    assert np.all(np.diff([lfp.rest_voltage(q) for q in charges]) > 0)
    assert math.isfinite(prada(0))
