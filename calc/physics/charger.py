"""Chargers that charge in stages: from the mains, from the starter battery (DC-DC) and from the sun.

All three end at the same posts and run the same stages: bulk (as much as they can) until the voltage is reached,
absorption (that voltage held) until the current has tapered or time is up, float, and back to bulk when the voltage
has been too low for long; `calc.physics.trip_course` turns them. What they can give differs: a mains charger its
rating, a solar controller the power of `calc.physics.sun` up to that, and a DC-DC charger what its input allows.

A charger sees its own voltage and its own current only: a load that runs meanwhile keeps its current up, as it does
with real ones, and then the longest time ends the absorption.
"""

from __future__ import annotations

from dataclasses import dataclass

from calc.physics.charging import compensated, stage_row
from calc.physics.interpolate import linear
from calc.tables import assumption

BULK, ABSORPTION, FLOAT = range(3)
"""The stages."""

SECONDS = 3600.0
"""Seconds in an hour [-]."""

EASES_ABOVE = 0.05
"""How far above the voltage that stops it a DC-DC charger eases its draw, so that it does not stand on the edge [V]."""


@dataclass(frozen=True, slots=True)
class Profile:
    """How a charger treats the battery it is set for; `profile` makes one.

    Attributes
    ----------
    absorption, float_ : voltages it holds, for a battery at 25 °C [V]
    tail : current of its own below which the absorption is over [A]
    longest : time after which it is over in any case [h]
    rebulk : voltage, for a battery at 25 °C, below which it does not stay in float [V]
    rebulk_after : how long it has to be below without a break [h]
    sensor : whether it measures the battery's temperature [-]
    compensation : volts to take off for each degree above 25, 0 where it has no battery sensor [-]
    coldest, hottest : battery temperatures beyond which it compensates no further [degC]
    """

    absorption: float
    float_: float
    tail: float
    longest: float
    rebulk: float
    rebulk_after: float
    sensor: bool
    compensation: float
    coldest: float
    hottest: float

    def shift(self, temperature: float) -> float:
        """Return what the battery's temperature adds to all voltages.

        Parameters
        ----------
        temperature : of the battery, by the charger's sensor [degC]

        Returns
        -------
        shift : above 0 in the cold, 0 without a sensor [V]
        """
        if not self.compensation:
            return 0.0
        return compensated(0.0, min(self.hottest, max(self.coldest, temperature)), self.compensation)

    def voltage(self, stage: int, temperature: float) -> float:
        """Return the voltage that the charger does not exceed in a stage: it holds it, or cannot reach it.

        Parameters
        ----------
        stage : BULK, ABSORPTION or FLOAT [-]
        temperature : of the battery [degC]

        Returns
        -------
        voltage : at the charger's output; of a charger with a sensor at the battery's posts [V]
        """
        return (self.float_ if stage == FLOAT else self.absorption) + self.shift(temperature)


@dataclass(frozen=True, slots=True)
class Charger:
    """A mains charger or a solar controller, at the second battery.

    Attributes
    ----------
    rated : most it gives [A]
    profile : its stages [-]
    """

    rated: float
    profile: Profile


@dataclass(frozen=True, slots=True)
class FromStarter:
    """A DC-DC charger between the batteries; `from_starter` makes one.

    Attributes
    ----------
    rated : most it gives, sun included [A]
    input_limit : most it draws from the starter side [A]
    efficiency : what it gives by what it takes, without its idle draw [-]
    idle : what it draws for itself while it is on [A]
    starts, stops : input voltages at which it comes on and goes off, each after its delay [V]
    start_delay, stop_delay : how long the input has to be above or below without a break [h]
    ignition : whether a wire tells it that the engine runs: without engine it is off at once [-]
    eases : input voltage below which it draws less, so that its cable's loss does not stop it [V]
    derates_from, hot_off : heat around it from which it gives less, and at which nothing [degC]
    solar_input : most it takes from panels of its own; 0 for none [W]
    profile : its stages [-]
    """

    rated: float
    input_limit: float
    efficiency: float
    idle: float
    starts: float
    stops: float
    start_delay: float
    stop_delay: float
    ignition: bool
    eases: float
    derates_from: float
    hot_off: float
    solar_input: float
    profile: Profile

    def heat_share(self, air: float) -> float:
        """Return which share of its rating it still gives in the heat around it.

        Parameters
        ----------
        air : around it [degC]

        Returns
        -------
        share : 1 in the cool, 0 where it is off [-]
        """
        return linear(air, (self.derates_from, self.hot_off), (1.0, 0.0))

    def wants(self, running: bool, volts_in: float, engine: bool) -> float:
        """Return a number above nought where its input speaks for turning it over: on, if it is off, and off, if on.

        It has to last for `start_delay` or `stop_delay`. An ignition wire without engine turns it off at once.

        Parameters
        ----------
        running : whether it is on [-]
        volts_in : at its input [V]
        engine : whether the engine runs [-]

        Returns
        -------
        wants : by how much the input is beyond the threshold; below 0 where it is not [V]
        """
        if not running:
            return -1.0 if self.ignition and not engine else volts_in - self.starts
        return 1.0 if self.ignition and not engine else self.stops - volts_in


def profile(chemistry: str, capacity: float, sensor: bool) -> Profile:
    """Return how a charger treats a battery: voltages in the middle of their ranges, times and tail as usual.

    Parameters
    ----------
    chemistry : that the charger is set for, a key of the chemistries [-]
    capacity : of the battery [Ah]
    sensor : whether it measures the battery's temperature [-]

    Returns
    -------
    profile : its stages [-]

    Examples
    --------
    >>> agm = profile("agm", 100, True)
    >>> round(agm.voltage(BULK, 25), 2), round(agm.voltage(FLOAT, 25), 2), round(agm.voltage(FLOAT, 15), 2)
    (14.5, 13.65, 13.83)
    """
    low_high = ((stage_row(chemistry, f"{stage}_{end}")["value"] for end in ("low", "high")) for stage in STAGES)
    absorption, float_ = (sum(ends) / 2 for ends in low_high)
    return Profile(
        absorption=absorption,
        float_=float_,
        tail=assumption("tail_current")["value"] * capacity / 100,
        longest=assumption("absorption_longest")["value"],
        rebulk=float_ - assumption("rebulk_gap")["value"],
        rebulk_after=assumption("rebulk_after")["value"],
        sensor=sensor,
        compensation=stage_row(chemistry, "compensation")["value"] if sensor else 0.0,
        coldest=assumption("compensation_coldest")["value"],
        hottest=assumption("compensation_hottest")["value"],
    )


STAGES = "absorption", "float"
"""Stages that the table of charge voltages has a range for."""


def from_starter(
    rated: float, input_limit: float, ignition: bool, solar_input: float, efficiency: float, treats: Profile
) -> FromStarter:
    """Return a DC-DC charger, its thresholds, delays, idle draw and heat as usual.

    Parameters
    ----------
    rated : most it gives [A]
    input_limit : most it draws from the starter side [A]
    ignition : whether a wire tells it that the engine runs [-]
    solar_input : most it takes from panels of its own; 0 for none [W]
    efficiency : what it gives by what it takes [-]
    treats : its stages [-]

    Returns
    -------
    charger : between the batteries [-]

    Examples
    --------
    >>> made = from_starter(30, 40, False, 0, 0.9, profile("agm", 100, False))
    >>> made.heat_share(25), made.heat_share(60)
    (1.0, 0.5)
    >>> made.wants(False, 13.4, True) > 0, made.wants(False, 12.9, True) > 0
    (True, False)
    """
    by = "_ignition" if ignition else ""
    stops = assumption(f"charger_stops{by}")["value"]
    return FromStarter(
        rated=rated,
        input_limit=input_limit,
        efficiency=efficiency,
        idle=assumption("charger_idle")["value"],
        starts=assumption(f"charger_starts{by}")["value"],
        stops=stops,
        start_delay=assumption("charger_start_delay")["value"] / SECONDS,
        stop_delay=assumption("charger_stop_delay")["value"] / SECONDS,
        ignition=ignition,
        eases=stops + EASES_ABOVE,
        derates_from=assumption("charger_derates_from")["value"],
        hot_off=assumption("charger_hot_off")["value"],
        solar_input=solar_input,
        profile=treats,
    )
