"""A vehicle with two batteries, and how its state moves at an instant: the law that `calc.physics.trip` integrates.

The equations stand in `calc.physics.trip`. Here they are written for speed: what never changes is made once in `Law`,
and a week asks `Law.rates` a few thousand times.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import cos, exp, pi

from calc.physics.alternator import Alternator
from calc.physics.battery import Battery
from calc.physics.charger import Charger, FromStarter, Profile
from calc.physics.circuit import drawn, pair, quadratic, single
from calc.physics.fridge import Fridge
from calc.physics.loads import Load
from calc.physics.starting import Starter
from calc.physics.sun import Panel

HOLDS, LIMITED, RATED, INPUT, EASED, IDLE, STARVED = "holds", "limited", "rated", "input", "eased", "idle", "starved"
"""How a source stands: it holds its voltage; gives all there is to give; is at its own rating; at the most its input
may draw; eased by a low input; gives nothing, as the voltage is above its own; or for want of input."""

CHARGING, DISCHARGING, RESTING, FLOATING = "charging", "discharging", "resting", "floating"
"""How a battery stands; resting, it is kept from the one or the other and takes and gives nothing; floating, a charger
holds a voltage at which it has settled, and it takes just what keeps it there."""

FILLING, FEEDING = "filling", "feeding"
"""Which way the charge goes between the wells of a battery: into the second, or out of it."""

LEAK = 1e-9
"""Conductance of a battery that rests, so that its posts have a voltage, in siemens [-]."""

HIGHEST = 3.0
"""Logarithm that no surface voltage reaches but in a step that is tried and refused [-]."""

TURN = pi / 12
"""Angle of an hour [-]."""

WARMEST = 15.0
"""Hour of the day at which the air is warmest; it is coldest twelve hours later [h]. Common practice, no source."""

HOT = 40.0
"""Battery temperature up to which heat makes no charger with a sensor give less [degC]."""

(NEAR, FAR, NEAR_AMPERES, FAR_AMPERES, NEAR_INNER, FAR_INNER, ALTERNATOR, ALTERNATOR_HOLDS, ALTERNATOR_LIMIT, LINK_IN,
 LINK_OUT, INPUT_VOLTS, CHARGER_SET, CHARGER_RATED, SUN_AMPERES, SUN_WATTS, SUN_SET, SUN_RATED, MAINS_AMPERES,
 MAINS_SET, MAINS_RATED, NEAR_EMPTY, FAR_EMPTY, NEAR_TAKES, FAR_TAKES, FRIDGE_WATTS) = range(26)  # fmt: skip
"""Places in what `Law.rates` finds beside its rates: voltages of the two points [V], main currents into the batteries
[A] and their inner voltages [V]; the alternator's current, the voltage it would hold and its limit; the currents into
the link and out of it, and the voltage at its input; of each charger its current, the voltage it holds and its rating,
of the sun its power too [W]; the fullness at which each battery is empty [-], and all that it takes at its posts [A];
last the power of each fridge [W]."""

(INTO_STARTER, INTO_SECOND, STARTER_LOSS, SECOND_LOSS, STARTER_GAS, SECOND_GAS, FROM_ALTERNATOR, FROM_SUN, SUN_OFFERED,
 FROM_MAINS, INTO_LINK, OUT_OF_LINK, NEAR_VOLT_HOURS, FAR_VOLT_HOURS, FRIDGES) = range(15)  # fmt: skip
"""Places in what is summed up: energies [Wh], voltages over time [V h], and last of all one place for each fridge. What
goes into the batteries and is lost there comes first, as its error is watched."""


@dataclass(frozen=True)
class Consumer:
    """Something that draws current, and where.

    Attributes
    ----------
    name : as the reader calls it [-]
    load : what it draws and when [-]
    at : "second" or "starter", the battery it hangs on [-]
    resistance : of the cable to it, which counts for its cut-out only [ohm]
    stops, starts : voltages at its terminals below which it goes off and above which it comes back, for a load of
        constant power; a fridge has its own [V]
    """

    name: str
    load: Load | Fridge
    at: str = "second"
    resistance: float = 0.0
    stops: float = 10.5
    starts: float = 12.0


@dataclass(frozen=True)
class Link:
    """What joins the two batteries.

    Attributes
    ----------
    kind : "none", "wire", "switch", "relay" or "charger" [-]
    resistance : of cable there and back, joints, fuses and contacts between the two batteries' posts; of a DC-DC
        charger all that lies before its input [ohm]
    connects_at, disconnects_at : of a relay, at its side of the starter battery [V]
    connect_delay, disconnect_delay : how long the voltage has to stay beyond [h]
    either : whether a relay looks at both of its sides, and opens only if both are low [-]
    left_on : whether a switch stays closed while the vehicle stands [-]
    charger : the DC-DC charger [-]
    """

    kind: str
    resistance: float = 0.01
    connects_at: float = 13.3
    disconnects_at: float = 12.8
    connect_delay: float = 0.0
    disconnect_delay: float = 0.0
    either: bool = False
    left_on: bool = False
    charger: FromStarter | None = None


@dataclass(frozen=True)
class Vehicle:
    """All that takes part.

    Attributes
    ----------
    starter, second : the batteries [-]
    link : what joins them [-]
    engine : the starter battery and the engine it has to start; None where that is not asked [-]
    alternator : None for a battery box that never sees one [-]
    alternator_resistance : by which its voltage sinks, its cable with it [ohm]
    base_load : what the vehicle itself draws at the starter battery with the engine running [A]
    consumers : everything else that draws [-]
    panels : solar panels, all at the second battery [-]
    solar : the controller that the panels charge through; None where the DC-DC charger's own input takes them [-]
    latitude : south is negative [deg]
    mains : a charger fed from a socket, at the second battery [-]
    inside_warmer : how much warmer than outside it is where fridge and DC-DC charger stand [degC]
    second_warmer : the same around the second battery [degC]
    bay_warmer : the same around the starter battery while the engine runs [degC]
    """

    starter: Battery
    second: Battery
    link: Link
    engine: Starter | None = None
    alternator: Alternator | None = None
    alternator_resistance: float = 0.004
    base_load: float = 15.0
    consumers: tuple[Consumer, ...] = ()
    panels: tuple[Panel, ...] = ()
    solar: Charger | None = None
    latitude: float = 50.0
    mains: Charger | None = None
    inside_warmer: float = 0.0
    second_warmer: float = 0.0
    bay_warmer: float = 0.0


def set_point(profile: Profile, stage: int) -> Callable[[float], float]:
    """Return the voltage of a stage as a quick function of the battery's temperature.

    Parameters
    ----------
    profile : of the charger [-]
    stage : as `calc.physics.charger` counts them [-]

    Returns
    -------
    voltage : of a temperature [degC] [V]

    Examples
    --------
    >>> from calc.physics.charger import FLOAT, profile
    >>> round(set_point(profile("agm", 100, True), FLOAT)(15), 2)
    13.83
    """
    if profile.compensation:
        return lambda temperature: profile.voltage(stage, temperature)
    volts = profile.voltage(stage, 25.0)
    return lambda temperature: volts


class Law:
    """The vehicle as it stands at the moment; `calc.physics.trip` turns its switches.

    Attributes
    ----------
    joined : whether wire, switch or relay joins the batteries
    engine : whether it runs
    too_hot : whether the second battery is too hot for a charger with a sensor
    cold_rate : what such a charger gives an LFP battery in the cold at most, for each Ah, 1 where it is not cold [A]
    idling : share of the time that the engine idles [-]
    up : whether a smart alternator holds its high voltage
    alternator, charger, sun, mains : how each source stands; None where it is off
    near, far : how the starter and the second battery stand
    near_pipe, far_pipe : which way the charge goes between their wells
    near_current, far_current, near_power, far_power : what is on, fridges apart [A], [W]
    fridges : of those that are on the power by the air around them, whether they are near, their place among all
    mean, swing : of the air [degC]
    warm_from, warm_since : the alternator's temperature as the leg began, and when that was [degC], [h]
    sunshine : power of the panels of an hour of the day and the air; None at night
    clock : hour of the day as the trip begins [h]
    """

    def __init__(self, vehicle: Vehicle, clock: float):
        self.vehicle, self.clock = vehicle, clock
        self.joined = self.engine = self.up = self.too_hot = False
        self.alternator = self.charger = self.sun = self.mains = None
        self.cold_rate = 1.0
        self.near = self.far = DISCHARGING
        self.near_pipe = self.far_pipe = FEEDING
        self.idling = self.near_current = self.far_current = self.near_power = self.far_power = 0.0
        self.fridges: tuple[tuple[Callable[[float], float], bool, int], ...] = ()
        self._no_fridges = (0.0,) * sum(isinstance(c.load, Fridge) for c in vehicle.consumers)
        self.mean, self.swing = 15.0, 0.0
        self.warm_from, self.warm_since = 15.0, 0.0
        self.sunshine: Callable[[float, float], float] | None = None
        self.charger_set = self.sun_set = self.mains_set = lambda temperature: 0.0
        self._guess_near = self._guess_far = 12.5
        self._resistance = max(1e-6, vehicle.link.resistance)
        self.solar = vehicle.solar
        dc = vehicle.link.charger
        self._shared = bool(dc and dc.solar_input and not vehicle.solar)
        self._near_rise, self._far_rise = vehicle.starter.gas_per_volt, vehicle.second.gas_per_volt
        self._near_sides, self._near_moved, _ = _battery_side(vehicle.starter)
        self._far_sides, self._far_moved, self._steady = _battery_side(vehicle.second)

    def air(self, time: float) -> float:
        """Return the air outside [degC] at a time [h]."""
        return self.mean + self.swing * cos(TURN * (time + self.clock - WARMEST))

    def steady_current(self, state: tuple) -> float:
        """Return the main current [A] at which the second battery's inner voltage stays where it is."""
        h1, h2, z, temperature = state[4:]
        battery = self.vehicle.second
        pipe = (battery.flow_in if h1 > h2 else battery.flow) * (h1 - h2)
        sigma = battery.warmth(temperature)[5]
        return self._steady(h1, pipe / battery.well_1 + sigma * h1, exp(z))

    def alternator_temperature(self, time: float) -> float:
        """Return the alternator's own temperature [degC] at a time [h]."""
        return self.vehicle.alternator.warmed(self.warm_from, time - self.warm_since, self.mean, self.engine)

    def rates(self, time: float, state: tuple) -> tuple[tuple, tuple, tuple]:
        """Return derivatives, rates of the sums, and all that was found, of the vehicle as it stands.

        The state is fullness of both wells [-], logarithm of the surface voltage [-] and temperature [degC] of the
        starter battery, and the same of the second one.
        """
        near_1, near_2, near_z, near_t, far_1, far_2, far_z, far_t = state
        charger, sun, mains, vehicle, engine = self.charger, self.sun, self.mains, self.vehicle, self.engine
        air = self.mean + self.swing * cos(TURN * (time + self.clock - WARMEST))
        near_side = self._near_sides[self.near](near_1, near_z, near_t)
        far_side = self._far_sides[self.far](far_1, far_z, far_t)

        near_power, far_power, fridges = self.near_power, self.far_power, self._no_fridges
        if self.fridges:
            fridges = [*fridges]
            for power, is_near, place in self.fridges:
                watts = fridges[place] = power(air + vehicle.inside_warmer)
                if is_near:
                    near_power += watts
                else:
                    far_power += watts

        near_inner, near_g, near_gas, _, _, _, _, near_left = near_side
        far_inner, far_g, far_gas, _, _, _, _, far_left = far_side
        near_j, far_j = near_g * near_inner - self.near_current, far_g * far_inner - self.far_current
        holds = limit = 0.0
        if engine:
            holds, limit = self._alternator_now(time)
            if self.alternator is HOLDS:
                near_g += 1.0 / vehicle.alternator_resistance
                near_j += holds / vehicle.alternator_resistance
            elif self.alternator is LIMITED:
                near_j += limit
        near_point = (near_g, near_j, near_power, near_gas, self._near_rise)

        held, given = 0.0, far_power
        mild = far_t <= HOT and self.cold_rate == 1.0
        shared = self._shared and charger is RATED
        sun_watts = sun_amperes = sun_rated = sun_set = 0.0
        if sun:
            sun_watts, sun_set = self.sunshine((time + self.clock) % 24.0, air), self.sun_set(far_t)
            sun_rated = self.solar.rated if mild else self._allowed(self.solar.rated, self.solar.profile, far_t)
            if sun is LIMITED:
                given -= 0.0 if shared else sun_watts
            elif sun is RATED:
                sun_amperes = sun_rated
            elif sun is HOLDS:
                held = sun_set
        mains_amperes = mains_rated = mains_set = 0.0
        if mains:
            mains_rated, mains_set = self._mains_now(far_t)
            if mains is RATED:
                mains_amperes = mains_rated
            elif mains is HOLDS:
                held = mains_set
        far_j += sun_amperes + mains_amperes

        link_in = link_out = charger_rated = charger_set = near_v = input_volts = fed = 0.0
        if self.joined:
            far_point = (far_g, far_j, given, far_gas, self._far_rise)
            near_v, far_v = self._joined_now(near_point, far_point, held)
            link_in = link_out = (near_v - far_v) / self._resistance
            input_volts = near_v
        else:
            if charger:
                charger_rated, charger_set = self._charger_now(air, far_t)
                if charger is HOLDS:
                    held = charger_set
                elif charger is RATED:
                    far_j += charger_rated - (sun_amperes if shared else 0.0)
                elif charger is INPUT or charger is EASED:
                    near_v, link_in, input_volts, fed = self._drawn_now(near_point)
                    given -= fed
            if held:
                far_v = held
            elif far_gas:
                far_v = single((far_g, far_j, given, far_gas, self._far_rise), 0.0, 0.0, 0.0, self._guess_far)
            else:
                far_v = quadratic(far_g, far_j, given)
            self._guess_far = far_v

        second = self._far_moved(far_v, far_1, far_2, far_t, far_side, self.far_pipe, air + vehicle.second_warmer)
        far_1, far_2, far_z, far_t, far_main, far_all, far_loss, far_blown = second
        if sun is LIMITED:
            sun_amperes = sun_watts / far_v
        if charger is RATED:
            link_out = charger_rated - (sun_amperes if shared else 0.0)
        elif fed:
            link_out = fed / far_v
        if held:
            rest = far_all + self.far_current + far_power / far_v - sun_amperes - mains_amperes - link_out
            if sun is HOLDS:
                sun_amperes = rest
            elif mains is HOLDS:
                mains_amperes = rest
            else:
                link_out = rest
        if not near_v:
            if charger:
                near_v, link_in, input_volts = self._fed_now(near_point, far_v * link_out)
            else:
                near_v = input_volts = self._guess_near = single(near_point, 0.0, 0.0, 0.0, self._guess_near)
        bay = air + vehicle.bay_warmer if engine else air
        starter = self._near_moved(near_v, near_1, near_2, near_t, near_side, self.near_pipe, bay)
        near_1, near_2, near_z, near_t, near_main, near_all, near_loss, near_blown = starter

        given = 0.0
        if self.alternator is HOLDS:
            given = (holds - near_v) / vehicle.alternator_resistance
        elif self.alternator is LIMITED:
            given = limit
        sums = (
            near_v * near_all,
            far_v * far_all,
            near_loss,
            far_loss,
            near_blown,
            far_blown,
            near_v * given,
            far_v * sun_amperes,
            sun_watts,
            far_v * mains_amperes,
            near_v * link_in,
            far_v * link_out,
            near_v,
            far_v,
            *fridges,
        )
        found = (
            near_v,
            far_v,
            near_main,
            far_main,
            near_inner,
            far_inner,
            given,
            holds,
            limit,
            link_in,
            link_out,
            input_volts,
            charger_set,
            charger_rated,
            sun_amperes,
            sun_watts,
            sun_set,
            sun_rated,
            mains_amperes,
            mains_set,
            mains_rated,
            1.0 - near_left,
            1.0 - far_left,
            near_all,
            far_all,
            *fridges,
        )
        return (near_1, near_2, near_z, near_t, far_1, far_2, far_z, far_t), sums, found

    def _alternator_now(self, time: float) -> tuple[float, float]:
        """Return the voltage that the alternator holds and the most that it gives."""
        alternator, own = self.vehicle.alternator, self.alternator_temperature(time)
        return alternator.voltage(own, self.up), alternator.limit(own, self.idling)

    def _allowed(self, rated: float, profile: Profile, temperature: float) -> float:
        """Return what a charger gives at most, where its sensor knows how warm the second battery is."""
        if not profile.sensor:
            return rated
        second = self.vehicle.second
        if self.cold_rate < 1.0:
            return min(rated, second.capacity * self.cold_rate)
        if temperature <= HOT:
            return rated
        if self.too_hot:
            return 0.0
        return min(rated, second.most_charge(temperature)) if second.lead_acid else rated

    def _mains_now(self, temperature: float) -> tuple[float, float]:
        """Return what the mains charger gives at most and the voltage that it does not exceed."""
        mains = self.vehicle.mains
        return self._allowed(mains.rated, mains.profile, temperature), self.mains_set(temperature)

    def _charger_now(self, air: float, temperature: float) -> tuple[float, float]:
        """Return what the DC-DC charger gives at most, its input allowing, and the voltage that it does not exceed."""
        dc = self.vehicle.link.charger
        rated = dc.rated * dc.heat_share(air + self.vehicle.inside_warmer)
        return self._allowed(rated, dc.profile, temperature), self.charger_set(temperature)

    def _joined_now(self, near: tuple, far: tuple, held: float) -> tuple[float, float]:
        """Return the voltages of the two joined points."""
        resistance = self._resistance
        if held:
            g, j, *rest = near
            near_v = single((g + 1 / resistance, j + held / resistance, *rest), 0.0, 0.0, 0.0, self._guess_near)
            self._guess_near = near_v
            return near_v, held
        near_v, far_v = pair(near, far, resistance, self._guess_near)
        self._guess_near = near_v
        return near_v, far_v

    def _drawn_now(self, near: tuple) -> tuple[float, float, float, float]:
        """Return how a DC-DC charger draws that its input limits: near voltage, current, input voltage, power given."""
        dc, resistance = self.vehicle.link.charger, self._resistance
        g, j, *rest = near
        if self.charger is INPUT:
            near_v = single((g, j - dc.input_limit, *rest), 0.0, 0.0, 0.0, self._guess_near)
            current = dc.input_limit
        else:
            point = (g + 1 / resistance, j + dc.eases / resistance, *rest)
            near_v = single(point, 0.0, 0.0, 0.0, self._guess_near)
            current = (near_v - dc.eases) / resistance
        self._guess_near = near_v
        volts = near_v - resistance * current
        return near_v, current, volts, dc.efficiency * volts * (current - dc.idle)

    def _fed_now(self, near: tuple, watts: float) -> tuple[float, float, float]:
        """Return near voltage, link's current and input voltage where the far side says what the charger gives."""
        dc, resistance = self.vehicle.link.charger, self._resistance
        asked = max(0.0, watts) / dc.efficiency
        self._guess_near = near_v = single(near, asked, dc.idle, resistance, self._guess_near)
        current, _ = drawn(near_v, asked, dc.idle, resistance)
        return near_v, current, near_v - resistance * current


def _battery_side(battery: Battery) -> tuple[dict, Callable, Callable]:
    """Return quick functions of a battery: what stands in it, by how it stands; how it moves; what keeps it."""
    warmth, emf = battery.warmth, battery.emf
    discharging, charging = battery.discharge_resistance_at, battery.charge_resistance_at
    well_1, well_2, narrow, wide = battery.well_1, battery.well_2, battery.flow, battery.flow_in
    takes, part, rise = 1.0 + battery.gas_share, 1.0 / (1.0 + battery.gas_share), battery.gas_per_volt
    settles, drain, steepness = battery.surface_most * battery.surface_half, battery.surface_drain, battery.emf_slope
    heat, cools, gassing = battery.heat_capacity, battery.cooling_hours, battery.lead_acid

    # Each returns inner voltage, conductance, gas at 0 V, main share, sigma, emf, surface, and what may come out.

    def discharges(h1: float, z: float, temperature: float) -> tuple:
        shift, r_d, _, available, _, sigma = warmth(temperature)
        e1, surface = emf(h1), exp(z if z < HIGHEST else HIGHEST)
        return e1 + shift + surface, 1.0 / discharging(h1, r_d, available), 0.0, 1.0, sigma, e1, surface, available

    def charges(h1: float, z: float, temperature: float) -> tuple:
        shift, _, r_c, available, gas, sigma = warmth(temperature)
        e1, surface = emf(h1), exp(z if z < HIGHEST else HIGHEST)
        return e1 + shift + surface, takes / charging(h1, r_c), gas, part, sigma, e1, surface, available

    def floats(h1: float, z: float, temperature: float) -> tuple:
        shift, _, _, available, _, sigma = warmth(temperature)
        e1, surface = emf(h1), exp(z if z < HIGHEST else HIGHEST)
        return e1 + shift + surface, 0.0, 0.0, 1.0, sigma, e1, surface, available

    def rests(h1: float, z: float, temperature: float) -> tuple:
        inner, _, *others = floats(h1, z, temperature)
        return inner, LEAK, *others

    def steady(h1: float, lost: float, surface: float) -> float:
        """The main current that keeps the inner voltage, while the first well loses so much of its fullness."""
        steep = steepness(h1)
        sinks = steep * lost + surface * surface / settles
        return sinks / (steep / well_1 + (surface / drain if sinks < 0.0 else 0.0))

    def moved(volts: float, h1: float, h2: float, temperature: float, side: tuple, pipe: str, air: float) -> tuple:
        """Derivatives of the four, main current, all current, loss, and gas's part of it."""
        inner, conductance, gas, share, sigma, e1, surface, _ = side
        through = (wide if pipe is FILLING else narrow) * (h1 - h2)
        gone_1, gone_2 = sigma * h1, sigma * h2
        e2 = emf(h2)
        fades = -surface / settles
        if conductance:
            current = conductance * (volts - inner)
            main = share * current
            if gas:
                current += gas * exp(rise * volts)
            elif gassing and main > 0.0:
                main = 0.0
        else:
            main = steady(h1, through / well_1 + gone_1, surface)
            current = main * takes if main > 0.0 else main
        if main < 0.0:
            fades += main / drain
        gassed = volts * (current - main)
        loss = gassed + main * (volts - e1) + through * (e1 - e2) + well_1 * gone_1 * e1 + well_2 * gone_2 * e2
        return (
            (main - through) / well_1 - gone_1,
            through / well_2 - gone_2,
            fades,
            (air - temperature) / cools + loss / heat,
            main,
            current,
            loss,
            gassed,
        )

    return {DISCHARGING: discharges, CHARGING: charges, FLOATING: floats, RESTING: rests}, moved, steady
