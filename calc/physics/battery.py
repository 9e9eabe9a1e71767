"""A 12 V battery through time: two wells of charge, the voltage at its posts, gas, cold, age and heat.

What holds, and what the simulation integrates
----------------------------------------------
State of one battery: h1 and h2, how full its two wells are (1 when full), s, the surface voltage that a charge leaves
behind [V], and T, its temperature [degC]. All else is made once, in `Battery`. With i the current of the main reaction,
above 0 when it charges, and g the current that makes gas, both in ampere:

    h1' = (i − p) / well_1 − σ·h1,    h2' = p / well_2 − σ·h2                                        [1/h]
    p   = flow·(h1 − h2) while h1 < h2, else flow_in·(h1 − h2), through the pipe between the wells   [A]
    s'  = −s² / (surface_most · surface_half) − s·max(0, −i) / surface_drain                         [V/h]
    T'  = (T_air − T) / cooling_hours + loss / heat_capacity                                         [K/h]

    V = emf(h1) + shift(T) + s + i·R,    R = R_c(h1, T) while charging, R_d(h1, T) while discharging  [V]
    i = (V − emf(h1) − shift(T) − s) / R, and the posts take i + g

- The wells are those of Manwell and McGowan (1993): the first holds the share c and gives to the load, the second feeds
  it through a pipe of rate k. c and k come from Peukert's exponent of the chemistry by the paper's own relation. That
  is about discharge. With the same pipe a charge would drag on for half a day longer than the charge law of Schiffer et
  al. or any charger shows, so the way in is several times as wide (`pipe_in`, from memory): flow_in.
- Gas, g: in lead-acid by Schiffer et al. (2007), `gassing`, only while i > 0. In LFP `gas_share`·i, where nothing
  gasses but not all of the charge comes out again.
- When a charge stops at once, s is set to `surface_after(V before, h1, T)`. Under a load it dies away by itself.
- A battery is empty, and nothing more comes, once h1 has fallen to `empty(T)`; the event function is h1 − empty(T).
- Resistances are of a steady load. A start or a short sees less: `calc.physics.starting`, `calc.physics.fault`.

Charge and resting voltage
--------------------------
emf goes, smoothly and without overshoot, through the very points that the resting-voltage check follows. A label's 0 %
is where the 20-hour test ends. There h1 is 0, but the second well still holds something, so that the charge that h1
alone would rest at lies below 0 %: charge = bottom + (100 − bottom)·h, and below 0 % the last line goes straight on.
LFP's curve was measured to the very end at next to no current, so its bottom is 0, and its 20-hour test ends at 10 V.

Cold and heat
-------------
Cold lowers what comes out (`empty`), raises the resistances, and shifts emf a little. The compensation of charge
voltage enters as a charge resistance: a full battery held at its compensated absorption voltage takes at every
temperature what it takes at 25 °C. (A shift of emf while charging would do the same there, but would let a hot battery
be charged below its own resting voltage.)

Energy
------
stored = charge_full·(c·stored(h1) + (1 − c)·stored(h2)) [Wh], with stored' = emf, is a function of state. What is lost
inside is exactly

    loss = V·g + i·(V − emf(h1)) + p·(emf(h1) − emf(h2)) + σ·(well_1·h1·emf(h1) + well_2·h2·emf(h2))  [W]

so that V·(i + g) − loss = d stored/dt, whatever the law for V is: `loss`. The surface and the shift hold no energy of
their own; what they give while discharging is taken off the loss, having been counted to it while charging (the surface
gives at most surface_drain·surface_most, 0.5 Wh for 100 Ah).

Speed
-----
`emf`, `stored`, `emf_slope` and `charge` are closures of one float. All that depends on the temperature comes from
`warmth(T)`, one plain tuple, good for as long as the temperature stands; `discharge_resistance_at` and
`charge_resistance_at` take their number from it. It is made at whole degrees and read straight between, −60 to 80.

Valid for currents to about the capacity's number an hour, −30 to 60 °C; outside it stays finite and of the right sign.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache, lru_cache

from calc.physics import charging, lead_acid, lfp, rest_voltage
from calc.physics.interpolate import linear, monotone_cubic
from calc.tables import assumption, table

RATED_HOURS = 20.0
"""Hours of the test that a label's capacity comes from [h]. Common practice, no source."""

FITTED_HOURS = (5.0, 1.0)
"""Discharges of this many hours, beside the label's 20, meet Peukert's law exactly; between, it is met to 3 % [h]."""

COLDEST, HOTTEST = -60, 80
"""Temperatures outside these count as these [degC]."""

LEAST_HEALTH = 0.2
"""Below this it is no battery any more [-]. Common practice, no source."""

NEAREST_FULL = 1e-6
"""How near a charge may come to the one at which the charge resistance would grow without end [-]."""

HIGHEST_VOLTAGE = 18.0
"""Above this the gas grows no further [V]; 3 V per cell, which no charger gives."""

PER_AH = 100.0
"""Ampere-hours that the rows of resistance and gas stand for [Ah]."""


@cache
def figure(key: str) -> float:
    """Return a usual value of the table of battery models, in the unit that its row gives.

    Parameters
    ----------
    key : its name there [-]

    Returns
    -------
    value : the usual one [-]

    Examples
    --------
    >>> figure("end_of_life")
    0.8
    """
    return table("battery_models").row(key=key)["value"]


def kinetic_share(hours: float, c: float, k: float) -> float:
    """Return which share of all its charge a two-well battery gives in a steady discharge of so many hours.

    Manwell and McGowan 1993: q(t)/qmax = k·c·t / (1 − e^(−k·t) + c·(k·t − 1 + e^(−k·t))).

    Parameters
    ----------
    hours : how long it lasts, above 0 [h]
    c : share of the charge in the first well, 0 to 1 [-]
    k : rate of the pipe between the wells, for each hour [-]

    Returns
    -------
    share : 0 to 1 [-]

    Examples
    --------
    >>> round(108.1598 * kinetic_share(1, 0.475111, 0.676960), 2)
    60.0
    """
    spent = -math.expm1(-k * hours)
    return k * c * hours / (spent + c * (k * hours - spent))


def wells(first: tuple[float, float], second: tuple[float, float]) -> tuple[float, float]:
    """Return the two-well constants of a battery from what it gives in two discharges quicker than the label's 20 h.

    The relation of Manwell and McGowan 1993 as q(t) = qmax·t / (t + m·(1 − e^(−k·t))), m = (1/c − 1)/k: each discharge
    gives m for a k, and the k for which both give the same is found by halving.

    Parameters
    ----------
    first : hours, and capacity as a share of that in 20 h [h], [-]
    second : the same of a still quicker discharge [h], [-]

    Returns
    -------
    c, k : share of the charge in the first well, and rate of the pipe for each hour [-], [-]

    Raises
    ------
    ValueError
        where no two wells give these shares.

    Examples
    --------
    >>> c, k = wells((10, 0.93), (1, 0.60))
    >>> round(c, 4), round(k, 4)
    (0.4751, 0.677)
    """

    def parts(k: float, hours: float, share: float) -> tuple[float, float]:
        spent, whole = -math.expm1(-k * hours), -math.expm1(-k * RATED_HOURS)
        return hours * RATED_HOURS * (1 - share), share * RATED_HOURS * spent - hours * whole

    def gap(k: float) -> float:
        (over_1, under_1), (over_2, under_2) = parts(k, *first), parts(k, *second)
        return over_1 * under_2 - over_2 * under_1

    low, high = 0.05, 20.0
    if gap(low) * gap(high) > 0:
        raise ValueError(f"no two wells give {first[1]:g} in {first[0]:g} h and {second[1]:g} in {second[0]:g} h")
    sign = gap(low)
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if gap(middle) * sign > 0 else (low, middle)
    over, under = parts(low, *second)
    return 1 / (1 + low * over / under), low


@lru_cache(maxsize=32)
def peukert_wells(exponent: float) -> tuple[float, float]:
    """Return the two-well constants that meet Peukert's law in 20, 5 and 1 hours.

    Parameters
    ----------
    exponent : of Peukert's law, 1.01 to 1.6 [-]

    Returns
    -------
    c, k : share of the charge in the first well, and rate of the pipe for each hour [-], [-]

    Examples
    --------
    >>> [round(x, 3) for x in peukert_wells(1.1)]
    [0.678, 0.419]
    """
    shares = [(hours, (hours / RATED_HOURS) ** (1 - 1 / exponent)) for hours in FITTED_HOURS]
    return wells(*shares)


def health_at(chemistry: str, age: float) -> float:
    """Return which share of its label's capacity a battery of an age still has: 1 − loss·age.

    A straight line from memory; how it was treated counts for more than its years.

    Parameters
    ----------
    chemistry : a key of the chemistries [-]
    age : since it was made, 0 or more [year]

    Returns
    -------
    health : 0.2 to 1 [-]

    Examples
    --------
    >>> round(health_at("agm", 4), 3), health_at("lfp", 0), health_at("gel", 50)
    (0.8, 1.0, 0.2)
    """
    loss = figure("ageing_lfp" if chemistry == "lfp" else "ageing_lead_acid")
    return min(1.0, max(LEAST_HEALTH, 1 - loss * age))


def aged_resistance(health: float) -> float:
    """Return how many times the resistance of a new battery one of a health has: 1 + n·(1 − health), from memory.

    Parameters
    ----------
    health : 0.2 to 1 [-]

    Returns
    -------
    factor : 1 when new [-]

    Examples
    --------
    >>> round(aged_resistance(0.8), 6)
    1.6
    """
    return 1 + figure("aged_resistance") * (1 - health)


def aged_gas(health: float) -> float:
    """Return how many times as much as a new lead-acid battery one of a health gasses (Schiffer et al. 2007: up to 5).

    Parameters
    ----------
    health : 0.2 to 1 [-]

    Returns
    -------
    factor : 1 when new, 5 from the end of its life on [-]

    Examples
    --------
    >>> [round(aged_gas(health), 6) for health in (1, 0.9, 0.8, 0.5)]
    [1.0, 3.0, 5.0, 5.0]
    """
    most = charging.constant("gas_aged")
    return min(most, 1 + (most - 1) * (1 - health) / (1 - figure("end_of_life")))


def cranking_share(temperature: float) -> float:
    """Return the cranking power that a full lead-acid battery has in the cold, as a share of that at 80 °F.

    US Army TM 5-4210-230-14&P-1, table 3; straight between its rows, level outside.

    Parameters
    ----------
    temperature : of the battery [degC]

    Returns
    -------
    share : 0.2 to 1 [-]

    Examples
    --------
    >>> cranking_share(0), cranking_share(-17.8)
    (0.65, 0.4)
    """
    rows = table("tm_5_4210_cold")
    return linear(temperature, rows.column("temperature"), rows.column("cranking")) / 100


def self_discharge(chemistry: str, temperature: float) -> float:
    """Return which share of its charge a battery that stands loses in an hour.

    Flooded: US Army TM 9-6140-200-14, fall of gravity in a day, over the gravities of BCI from full to flat. Others:
    their loss at 25 °C from memory, with the temperature as there. Straight between the rows on a logarithmic axis;
    level outside 10 to 37.8 °C.

    Parameters
    ----------
    chemistry : a key of the chemistries [-]
    temperature : of the battery [degC]

    Returns
    -------
    share : in an hour [-]

    Examples
    --------
    >>> round(24 * self_discharge("flooded", 26.7), 5)
    0.0069
    """
    rows = table("tm_9_6140_self_discharge")
    logs = [math.log(fall) for fall in rows.column("gravity_per_day")]
    fall = math.exp(linear(temperature, rows.column("temperature"), logs))
    if chemistry == "flooded":
        return fall / (lead_acid.gravity(100) - lead_acid.gravity(0)) / 24
    at_25 = math.exp(linear(charging.BASE_TEMPERATURE, rows.column("temperature"), logs))
    return figure(f"self_discharge_{chemistry}") * fall / at_25 / 24


def cold_share(chemistry: str, temperature: float) -> float:
    """Return how much of its capacity a battery gives in the cold, of that at 25 °C.

    Parameters
    ----------
    chemistry : a key of the chemistries [-]
    temperature : of the battery [degC]

    Returns
    -------
    share : 0.2 to 1 [-]

    Examples
    --------
    >>> round(cold_share("agm", 0), 2), cold_share("lfp", 0)
    (0.73, 0.85)
    """
    if chemistry == "lfp":
        return lfp.cold_share(temperature)
    return lead_acid.cold_share(temperature, charging.BASE_TEMPERATURE)


def cold_resistance(chemistry: str, temperature: float) -> float:
    """Return how many times its resistance at 25 °C a battery has in the cold; no less than 1.

    Lead-acid: as its cranking power falls (US Army TM 5-4210-230-14&P-1, table 3). LFP: it doubles with each so many
    degrees below 25, from memory.

    Parameters
    ----------
    chemistry : a key of the chemistries [-]
    temperature : of the battery [degC]

    Returns
    -------
    factor : 1 or more [-]

    Examples
    --------
    >>> round(cold_resistance("agm", 0), 2), cold_resistance("lfp", 5)
    (1.5, 2.0)
    """
    if chemistry == "lfp":
        return 2 ** (max(0.0, charging.BASE_TEMPERATURE - temperature) / figure("cold_doubling_lfp"))
    return max(1.0, cranking_share(charging.BASE_TEMPERATURE) / cranking_share(temperature))


def resting_shift(chemistry: str, temperature: float) -> float:
    """Return by how much a battery rests above the voltage of its table because of its temperature: n·c·(T − T_table).

    Parameters
    ----------
    chemistry : a key of the chemistries [-]
    temperature : of the battery [degC]

    Returns
    -------
    shift : of six or four cells [V]

    Examples
    --------
    >>> round(resting_shift("agm", 5), 5), resting_shift("lfp", 25)
    (-0.02604, 0.0)
    """
    kind = "lfp" if chemistry == "lfp" else "lead_acid"
    coefficient = assumption(f"rest_temperature_{kind}")["value"]
    return 0.0 - rest_voltage.temperature_shift(temperature, coefficient, chemistry)


def compensated_resistance(chemistry: str, temperature: float) -> float:
    """Return by how much the charge resistance changes so that the published compensation of charge voltage comes out.

    A full battery takes as much at its compensated absorption voltage as it does at 25 °C: η(T) / η(25), with η(T) what
    absorption stands above the full battery's resting voltage, both at T.

    Parameters
    ----------
    chemistry : a key of the chemistries [-]
    temperature : of the battery, −60 to 80 [degC]

    Returns
    -------
    factor : 1 at 25 °C [-]

    Examples
    --------
    >>> round(compensated_resistance("agm", 5), 3), compensated_resistance("lfp", 5)
    (1.256, 1.0)
    """
    full = rest_voltage.voltage_at_rest(100, chemistry)
    here, base = (
        charging.stage_voltage(chemistry, "absorption_low", t) - full - resting_shift(chemistry, t)
        for t in (temperature, charging.BASE_TEMPERATURE)
    )
    return here / base


def most_charge_rate(chemistry: str, temperature: float) -> float:
    """Return the most amperes for each ampere-hour that a battery should be charged with at its temperature.

    Lead-acid: 1 up to 43 °C, from there straight down to nothing at 50 °C. LFP: by the cell sheets, nothing below 0 °C
    and above 45 °C, in steps between. Whether something holds it to that, is for the charger to say.

    Parameters
    ----------
    chemistry : a key of the chemistries [-]
    temperature : of the battery, −60 to 80 [degC]

    Returns
    -------
    rate : 0 to 1 [-]

    Examples
    --------
    >>> [most_charge_rate("lfp", t) for t in (-5, 3, 8, 20, 50)]
    [0.0, 0.1, 0.2, 1.0, 0.0]
    >>> [round(most_charge_rate("agm", t), 2) for t in (20, 46.5, 50)]
    [1.0, 0.5, 0.0]
    """
    band = charging.temperature_band(chemistry, temperature)
    if band["level"] == "stop":
        return 0.0
    if band["level"] == "caution" and band["rate"] is None:
        return (band["high"] - temperature) / (band["high"] - band["low"])
    return band["rate"] or 1.0


@cache
def resting(chemistry: str) -> tuple[Callable, Callable, Callable]:
    """Return resting voltage, its integral and its slope against charge as fast functions: [V] of [%].

    Parameters
    ----------
    chemistry : a key of the chemistries [-]

    Returns
    -------
    value, integral, slope : of a charge, at the temperature of the table; straight on outside 0 to 100 % [V]

    Examples
    --------
    >>> value, integral, slope = resting("flooded")
    >>> round(value(50), 6), round(integral(100) / 100, 2), round(slope(50), 4)
    (12.24, 12.25, 0.0078)
    """
    curve = rest_voltage.curves(chemistry)[0]
    return monotone_cubic(curve.charges, curve.voltages)


@cache
def emptied(chemistry: str, voltage: float) -> float:
    """Return the charge at which the smooth curve of a battery at rest passes a voltage, found by halving.

    Parameters
    ----------
    chemistry : a key of the chemistries [-]
    voltage : between those of the curve's ends [V]

    Returns
    -------
    charge : 0 to 100 [%]

    Examples
    --------
    >>> round(emptied("lfp", 10.0), 2)
    1.0
    """
    value = resting(chemistry)[0]
    low, high = 0.0, 100.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if value(middle) < voltage else (low, middle)
    return low


class Battery:
    """What stays the same of one battery while its state changes; the module says what it obeys.

    Attributes
    ----------
    chemistry : "flooded", "calcium", "agm", "gel" or "lfp"
    capacity : of the label, 20-hour rate, 25 °C [Ah]
    health : share of that which is left [-]
    usable : capacity · health [Ah]
    lead_acid : whether it gasses and has no switch of its own
    c, k : share of the first well [-], rate of the pipe [1/h]
    end : how full the first well still is where the label's test ends; 0 for lead-acid [-]
    charge_full : qmax, all that both wells hold [Ah]
    well_1, well_2 : what each holds when full [Ah]
    flow, flow_in : current through the pipe for a difference of 1 in fullness: out of the second well, into it [A]
    bottom : charge that an empty well would rest at, 0 or below [%]
    wear : how many times the resistance of a new one it has [-]
    resistance : of a steady load, full, at 25 °C [ohm]
    charge_resistance_base : R_c without its growth towards full, at 25 °C [ohm]
    surface_most, surface_half, surface_drain : see the module [V], [h], [Ah]
    heat_capacity, cooling_hours : see the module [Wh/K], [h]
    gas_share : current beside the main one while charging, for LFP; 0 for lead-acid [-]
    gas_per_volt : how steeply a lead-acid battery's gas grows with the voltage at its posts, 1/V [-]
    opens_below, opens_above, closes_below : where an LFP battery's own switch acts on the voltage at its posts; None
        for lead-acid [V]
    emf, stored, emf_slope, charge : closures of a well's fullness h [V], [V], [V], [%]
    """

    def __init__(
        self,
        chemistry: str,
        capacity: float,
        age: float = 0.0,
        health: float | None = None,
        resistance_factor: float = 1.0,
    ):
        """Make a battery from what is on its label and what is known of its age.

        Parameters
        ----------
        chemistry : a key of the chemistries [-]
        capacity : of the label, above 0 [Ah]
        age : since it was made [year]
        health : share of the capacity that is left, where it is known; overrules the age [-]
        resistance_factor : how many times the usual resistance of its health it has [-]
        """
        self.chemistry, self.capacity = chemistry, capacity
        self.lead_acid = chemistry != "lfp"
        self.health = health_at(chemistry, age) if health is None else min(1.0, max(LEAST_HEALTH, health))
        self.usable = capacity * self.health
        self._make_wells()
        self._make_curves()
        self._make_resistances(resistance_factor)
        self._make_surface_and_heat()
        self._make_own_switch()
        self._warm: list[tuple | None] = [None] * (HOTTEST - COLDEST)

    def _make_wells(self) -> None:
        """Size the wells so that the usable capacity comes out in 20 hours at 25 °C."""
        c, k = peukert_wells(assumption(f"peukert_{self.chemistry}")["value"])
        end = 0.0
        if not self.lead_acid:
            end = emptied("lfp", figure("opens_below_lfp")) / 100
        self.c, self.k, self.end = c, k, end
        self.charge_full = self.usable / (kinetic_share(RATED_HOURS, c, k) * (1 - end))
        self.well_1, self.well_2 = c * self.charge_full, (1 - c) * self.charge_full
        self.flow = k * c * (1 - c) * self.charge_full
        self.flow_in = self.flow * figure("pipe_in")
        self.bottom = 100 * (1 - self.charge_full / self.usable) if self.lead_acid else 0.0

    def _make_curves(self) -> None:
        """Make emf [V], its integral [V] and its slope [V] functions of a well's fullness h, and charge [%] too."""
        bottom, span = self.bottom, (100 - self.bottom)
        curve = rest_voltage.curves(self.chemistry)[0]
        emf, integral, emf_slope = monotone_cubic([(q - bottom) / span for q in curve.charges], curve.voltages)
        zero = integral(0.0)

        def stored(h: float) -> float:
            return integral(h) - zero

        def charge(h: float) -> float:
            return bottom + span * h

        self.emf, self.stored, self.emf_slope, self.charge = emf, stored, emf_slope, charge

    def _make_resistances(self, factor: float) -> None:
        """Make both resistances functions of fullness and of what the temperature makes of them."""
        self.wear = factor * aged_resistance(self.health)
        factor = self.wear * PER_AH / self.capacity
        inner = assumption(f"internal_resistance_{self.chemistry}")["value"]
        self.resistance = factor * inner * figure("steady_resistance")
        if self.lead_acid:
            self.charge_resistance_base = factor * lead_acid.CELLS * charging.constant("rho_c") / PER_AH
            growth, knee = charging.constant("Mc"), charging.constant("Md")
            # The 20-hour test ends at its voltage when the first well is empty: that puts the pole.
            spare = self.emf(0.0) - figure("end_voltage_lead_acid")
            pole = 1 + knee / max(1.0, spare * RATED_HOURS / (self.usable * self.resistance) - 1)
        else:
            self.charge_resistance_base = self.resistance
            growth, knee, pole = figure("taper_lfp"), 0.0, 2.0
        limit, bottom = charging.constant("Cc"), self.bottom / 100
        most, span = limit - NEAREST_FULL, 1 - self.bottom / 100

        def discharge_resistance_at(h1: float, cold: float, available: float) -> float:
            x = (1 - h1) / available
            if x <= 0:
                return cold
            if x > 1:
                x = 1.0
            return cold * (1 + knee * x / (pole - x))

        def charge_resistance_at(h1: float, cold: float) -> float:
            soc = bottom + span * h1
            if soc <= 0:
                return cold
            if soc > most:
                soc = most
            return cold * (1 + growth * soc / (limit - soc))

        self.discharge_resistance_at, self.charge_resistance_at = discharge_resistance_at, charge_resistance_at

    def _make_surface_and_heat(self) -> None:
        """Set what the surface voltage, the temperature and the gas need."""
        tail = "" if self.lead_acid else "_lfp"
        self.surface_most = assumption(f"surface_after_charge{tail}")["value"]
        self.surface_half = assumption(f"surface_settling{tail}")["value"]
        self.surface_drain = figure("surface_share") * self.usable
        self.heat_capacity = self.capacity * figure(
            "heat_capacity_lead_acid" if self.lead_acid else "heat_capacity_lfp"
        )
        self.cooling_hours = figure("cooling") * (self.capacity / PER_AH) ** (1 / 3)
        self.gas_share = 0.0 if self.lead_acid else 1 / figure("coulomb_lfp") - 1
        self.gas_per_volt = charging.constant("gas_per_volt") / lead_acid.CELLS if self.lead_acid else 0.0

    def _make_own_switch(self) -> None:
        """Set the voltages at which an LFP battery's own electronics part it from its posts."""
        keys = ("opens_below", "opens_above", "closes_below")
        volts = [None if self.lead_acid else figure(f"{key}_lfp") for key in keys]
        self.opens_below, self.opens_above, self.closes_below = volts

    def _warmth(self, temperature: float) -> tuple[float, ...]:
        """Return the row of `warmth` at a temperature, straight from its formulae."""
        kind = self.chemistry
        available = cold_share(kind, temperature) * (1 - self.end)
        gas = 0.0
        if self.lead_acid:
            gas = charging.gassing_current(0.0, temperature, kind in ("agm", "gel"))
            gas *= aged_gas(self.health) * self.capacity / PER_AH
        cold = cold_resistance(kind, temperature)
        compensation = compensated_resistance(kind, temperature) if self.lead_acid else cold
        return (
            resting_shift(kind, temperature),
            self.resistance * cold,
            self.charge_resistance_base * compensation,
            available,
            gas,
            self_discharge(kind, temperature),
        )

    def _warm_row(self, i: int) -> tuple:
        """Return, made once, the row of a whole degree and its growth to the next."""
        here, there = self._warmth(COLDEST + i), self._warmth(COLDEST + i + 1)
        row = self._warm[i] = (*here, *(b - a for a, b in zip(here, there, strict=True)))
        return row

    def warmth(self, temperature: float) -> tuple[float, float, float, float, float, float]:
        """Return all that depends on the temperature, as one plain tuple, in this order.

        Parameters
        ----------
        temperature : of the battery; −60 to 80 count [degC]

        Returns
        -------
        shift : of the resting voltage from its table's temperature, added to emf [V]
        r_d : for `discharge_resistance_at` [ohm]
        r_c : for `charge_resistance_at` [ohm]
        available : share of the first well that comes out; the battery is empty at h1 = 1 − available [-]
        gas : for `gassing_at`, 0 for LFP [A]
        sigma : self-discharge [1/h]
        """
        if not COLDEST <= temperature < HOTTEST:
            temperature = COLDEST if temperature < COLDEST else HOTTEST - 1e-9
        x = temperature - COLDEST
        i = int(x)
        part = x - i
        a, b, c, d, e, f, da, db, dc, dd, de, df = self._warm[i] or self._warm_row(i)
        return a + part * da, b + part * db, c + part * dc, d + part * dd, e + part * de, f + part * df

    def discharge_resistance(self, h1: float, temperature: float) -> float:
        """Return the resistance to a steady load [ohm] at a fullness of the first well [-] and a temperature [degC].

        R_d = R·cold·(1 + Md·x / (p − x)), with x = (1 − h1) / available: Shepherd's form, Md of Schiffer et al. 2007.
        The pole p is put where the label's 20-hour test ends at 10.5 V.
        """
        _, r_d, _, available, _, _ = self.warmth(temperature)
        return self.discharge_resistance_at(h1, r_d, available)

    def charge_resistance(self, h1: float, temperature: float) -> float:
        """Return the resistance to a charge [ohm] at a fullness of the first well [-] and a temperature [degC].

        R_c = 6·rho_c/C·compensation·(1 + Mc·SoC / (Cc − SoC)), SoC the charge of h1 (Schiffer et al. 2007).
        """
        return self.charge_resistance_at(h1, self.warmth(temperature)[2])

    def gassing_at(self, voltage: float, gas: float) -> float:
        """Return the current that makes gas [A] at the posts' voltage [V], `gas` from `warmth` [A]; 0 for LFP."""
        return gas * math.exp(self.gas_per_volt * (voltage if voltage < HIGHEST_VOLTAGE else HIGHEST_VOLTAGE))

    def gassing(self, voltage: float, temperature: float) -> float:
        """Return the current that makes gas [A] at the posts' voltage [V] and a temperature [degC]."""
        return self.gassing_at(voltage, self.warmth(temperature)[4])

    def empty(self, temperature: float) -> float:
        """Return the fullness of the first well [-] below which nothing more comes at a temperature [degC]."""
        return 1 - self.warmth(temperature)[3]

    def most_charge(self, temperature: float) -> float:
        """Return the most current [A] that it should be charged with at a temperature [degC]; 0: not at all."""
        return self.capacity * most_charge_rate(self.chemistry, min(HOTTEST, max(COLDEST, temperature)))

    def surface_after(self, voltage: float, h1: float, temperature: float) -> float:
        """Return the surface voltage [V] as a charge at a voltage [V] stops, at a fullness [-] and a temperature."""
        return min(self.surface_most, max(0.0, voltage - self.emf(h1) - self.warmth(temperature)[0]))

    def mean_charge(self, h1: float, h2: float) -> float:
        """Return the charge [%] that it would rest at once both wells [-] are level; the one to show a reader."""
        return self.charge(self.c * h1 + (1 - self.c) * h2)

    def fullness(self, charge: float) -> float:
        """Return the fullness of both wells [-] of a battery that rests at a charge [%]."""
        return (charge - self.bottom) / (100 - self.bottom)

    def energy(self, h1: float, h2: float) -> float:
        """Return the stored energy [Wh] at a fullness of both wells [-], counted from both empty."""
        return self.well_1 * self.stored(h1) + self.well_2 * self.stored(h2)

    def loss(self, voltage: float, current: float, gas: float, h1: float, h2: float, sigma: float) -> float:
        """Return the power lost inside [W]: the module's identity, exact for any voltage.

        Parameters: voltage at the posts [V], current of the main reaction, above 0 when charging [A], gas [A], fullness
        of both wells [-], self-discharge, the last of `warmth` [1/h].
        """
        e1, e2 = self.emf(h1), self.emf(h2)
        through = (self.flow if h1 < h2 else self.flow_in) * (h1 - h2) * (e1 - e2)
        return (
            voltage * gas + current * (voltage - e1) + through + sigma * (self.well_1 * h1 * e1 + self.well_2 * h2 * e2)
        )
