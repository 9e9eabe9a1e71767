"""The course of a trip: which switch, source, stage and load turns when. `calc.physics.trip` says what holds between.

Whatever may turn is either a time known beforehand (`due`), a limit that the state reaches (`_Watch`, or a `Rule` of
how things stand), or a wish: a condition that has to last for a delay before something acts.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from math import exp, floor, log
from typing import NamedTuple

from calc.physics import sun
from calc.physics import vehicle as at
from calc.physics.battery import COLDEST, HOTTEST, most_charge_rate
from calc.physics.charger import ABSORPTION, BULK, FLOAT, Charger
from calc.physics.charging import BASE_TEMPERATURE, temperature_band
from calc.physics.events import INSTANT, Mode
from calc.physics.fridge import Fridge
from calc.physics.standing import SLACK, Rule, Standing, Store
from calc.physics.vehicle import (
    CHARGING,
    DISCHARGING,
    FLOATING,
    HOLDS,
    LIMITED,
    RATED,
    RESTING,
    Law,
    Vehicle,
    set_point,
)
from calc.tables import assumption

REACHED = 1e-6
"""How near a charger has to come to its voltage to have reached it [V]."""

NOTHING = -40.0
"""Logarithm of a surface voltage that counts for nothing [-]."""

STIFF = 10.0
"""Rate at which a held battery settles, above which it is no longer followed once it has settled [-]; for each hour."""

SETTLED = 2e-6
"""Fullness that a held battery still has to move to count as settled [-]."""

SURFACE = 1e-4
"""Error allowed in a step in the surface voltage [V]."""

RETRY = 0.5
"""How long the voltage has to stay before what turned itself off comes back [h]. Common practice, no source."""

RECOVERED = 0.1
"""How far the first well of an empty battery has to fill before its loads come back [-]. Common practice, no source."""

COOLED = 2.0
"""How far a battery that is too hot or cold to be charged has to come back [degC]. Common practice, no source."""

LEAD_ACID_HOT = 49.5
"""A lead-acid battery should not be charged above 50 °C; a charger with a sensor stops just before [degC]. Practice."""

MOST_CLICKS = 20
"""Times that a relay may close within an hour; then it is said to chatter, and stays open until the next start [-]."""

PAUSE = 1 / 60
"""How long all stands as it does where something only switches to and fro [h]."""

LONGEST = 3.0
"""Longest step, so that nothing that comes and goes within one is passed over [h]."""

ABSOLUTE = (2e-6, 2e-6, 1.0, 1e-2) * 2
"""Error allowed in a step: fullness of both wells, logarithm of a surface of no account [-], temperature [degC]."""

EDGE = 1e-6
"""What is on at a turn is asked this much after it [h]."""


class _Watch(NamedTuple):
    """A limit: a number that is at or above 0 until it is reached, and what happens then."""

    value: Callable[[float, tuple, tuple], float]
    act: Callable[[float, tuple, tuple], None]


class _Wish(NamedTuple):
    """A condition, above 0 while it holds, that acts once it has lasted for a delay."""

    name: str
    value: Callable[[float, tuple, tuple], float]
    delay: float
    act: Callable[[float, tuple, tuple], None]


class Course:
    """A trip under way."""

    def __init__(self, vehicle: Vehicle, legs: tuple, start, progress: Callable[[float], None] | None):
        self.vehicle, self.legs, self.start, self.progress = vehicle, legs, start, progress
        self.law = Law(vehicle, start.hour)
        self.events: list[tuple[float, str, str]] = []
        self.due: dict[str, tuple[float, Callable]] = {}
        self.leg = -1
        self.ends = sum(leg.hours for leg in legs)
        self.over = False
        self.high, self.lifted = True, False
        self.lifts: list[tuple[float, bool]] = []
        self.every = assumption("overrun_every")["value"]
        self.clicks: list[float] = []
        self.chatters = False
        self.may_float = True
        self.band: tuple[float, float] | None = None
        self.near = Store("starter", vehicle.starter, 0, at.NEAR, at.NEAR_INNER, "near")
        self.far = Store("second", vehicle.second, 4, at.FAR, at.FAR_INNER, "far")
        self.standing = Standing(self.law, self.near, self.far, self._overloaded)
        self.stages = {"charger": BULK, "sun": BULK, "mains": BULK}
        dc = vehicle.link.charger
        self.dc = dc if vehicle.link.kind == "charger" else None
        shared = self.dc and dc.solar_input and not vehicle.solar
        self.law.solar = Charger(dc.rated, dc.profile) if shared else vehicle.solar
        self.profiles = {
            "charger": self.dc and dc.profile,
            "sun": self.law.solar and self.law.solar.profile,
            "mains": vehicle.mains and vehicle.mains.profile,
        }
        self.on = [False] * len(vehicle.consumers)
        self.cut = [False] * len(vehicle.consumers)
        self.watches: list[_Watch | Rule] = []
        self.cut_outs = [self._cut_out(place) for place in range(len(vehicle.consumers))]
        self.known: dict[tuple, list[_Watch]] = {}

    # the state

    def first_state(self) -> tuple:
        """Return the state of two rested batteries in the first leg's air."""
        near, far = (b.fullness(c) for b, c in ((self.vehicle.starter, self.start.starter),
                                                (self.vehicle.second, self.start.second)))  # fmt: skip
        return near, near, NOTHING, 0.0, far, far, NOTHING, 0.0

    def begin(self, state: tuple) -> tuple[Mode, tuple]:
        """Return the first mode, and the state with the air's warmth in it."""
        self._next_leg(0.0, state, None)
        air = self.law.air(0.0)
        state = (*state[:3], air, *state[4:7], air + self.vehicle.second_warmer)
        self._sky(0.0)
        self._consumers(0.0, state, None)
        self._cold(state)
        return self._mode(0.0, state, self.standing.settle(0.0, state))

    def change(self, time: float, state: tuple, which: int | None, seen: tuple):
        """Return the next mode and state after an event, or None at the end."""
        before = self.law.near, self.law.far, self.law.alternator
        if which is None:
            self.may_float = True
            ready = sorted((when, name) for name, (when, _) in self.due.items() if when <= time + INSTANT)
            for _, name in ready:
                if name in self.due:
                    self.due.pop(name)[1](time, state, seen)
        else:
            watch = self.watches[which]
            if isinstance(watch, Rule):
                setattr(self.law, watch.name, watch.new)
            else:
                watch.act(time, state, seen)
        if self.over:
            return None
        if self.progress:
            self.progress(time / self.ends)
        self._cold(state)
        state, found = tuple(state), self.standing.settle(time, state)
        left = self._surfaces(state, before, seen)
        following = self._mode(time, left, found if left == state else self.standing.settle(time, left))
        if self.law.alternator in (HOLDS, LIMITED) and before[2] not in (None, self.law.alternator):
            self.tell(time, f"alternator_{self.law.alternator}")
        return following

    def pause(self, time: float, state: tuple) -> tuple[Mode, tuple]:
        """Return a law under which all stands as it does for a while, as something only switches to and fro."""
        mode, state = self._mode(time, tuple(state), self.standing.settle(time, state))
        return mode._replace(guards=lambda t, y, s: (), until=min(mode.until, time + PAUSE)), state

    def give_up(self, time: float) -> None:
        """End the trip."""
        self.tell(time, "cannot_follow")

    def _surfaces(self, state: tuple, before: tuple, seen: tuple) -> tuple:
        """Return the state with the surface voltage that a charge leaves behind where it has just stopped."""
        changed = list(state)
        for store, stood in ((self.near, before[0]), (self.far, before[1])):
            if stood is CHARGING and getattr(self.law, store.stands) in (DISCHARGING, RESTING):
                h1, temperature = state[store.place], state[store.place + 3]
                left = store.battery.surface_after(seen[store.volts], h1, temperature)
                if left > exp(state[store.place + 2]):
                    changed[store.place + 2] = log(left)
        return tuple(changed)

    def _mode(self, time: float, state: tuple, found: tuple) -> tuple[Mode, tuple]:
        """Return the law as it holds from now on, from its rates with everything standing as it must."""
        while self._promote(time, found[2]):
            found = self.standing.settle(time, state)
        seen = found[2]
        self.watches = [*self.standing.rules, *self._limits()]
        for wish in self._wishes():
            value, name = wish.value, wish.name
            if value(time, state, seen) > 0:
                self.due.setdefault(name, (time + wish.delay, wish.act))
                self.watches.append(_Watch(value, _nothing))
            else:
                self.due.pop(name, None)
                self.watches.append(_Watch(lambda t, y, s, value=value: SLACK - value(t, y, s), _nothing))
        until = min(when for when, _ in self.due.values())
        values = [watch.value for watch in self.watches]
        guards = lambda t, y, s: [value(t, y, s) for value in values]  # noqa: E731
        absolute = list(ABSOLUTE)
        for place in (2, 6):
            if state[place] > NOTHING:
                absolute[place] = min(1.0, SURFACE / exp(state[place]))
        return Mode(self.law.rates, guards, until, LONGEST, absolute, found), state

    def tell(self, time: float, key: str, name: str = "") -> None:
        """Note an event."""
        self.events.append((time, key, name))

    def _overloaded(self, time: float) -> None:
        """Turn off every load of constant power."""
        for place in range(len(self.on)):
            if self.cut_outs[place] and self.draws(place):
                self._cut(time, (), place, True)

    # stages of the chargers

    def _stage(self, time: float, name: str, stage: int) -> None:
        """Put a charger into a stage."""
        self.stages[name] = stage
        setattr(self.law, f"{name}_set", set_point(self.profiles[name], stage))
        self.due.pop(f"{name} too long", None)
        self.due.pop(f"{name} anew", None)
        if stage == ABSORPTION:
            over = time + self.profiles[name].longest
            self.due[f"{name} too long"] = over, lambda t, y, s: self._stage(t, name, FLOAT)
        self.tell(time, {BULK: "stage_bulk", ABSORPTION: "stage_absorption", FLOAT: "stage_float"}[stage], name)

    def _promote(self, time: float, seen: tuple) -> bool:
        """Put the chargers whose voltage is reached from bulk into absorption, and return whether there were any."""
        reached = [
            name
            for name, place, _ in self.standing.running()
            if self.stages[name] == BULK and seen[at.FAR] >= seen[place] - REACHED
        ]
        for name in reached:
            self._stage(time, name, ABSORPTION)
        return bool(reached)

    def _off(self, time: float, name: str) -> None:
        """Turn a charger off."""
        setattr(self.law, name, None)
        self.due.pop(f"{name} too long", None)
        self.due.pop(f"{name} anew", None)

    # limits and wishes

    def _limits(self) -> list[_Watch]:
        """Return every limit beside those of how things stand."""
        found = []
        for name, _, amperes in self.standing.running():
            if self.stages[name] == ABSORPTION and getattr(self.law, name) is HOLDS:
                tail = self.profiles[name].tail
                found.append(
                    _Watch(
                        lambda t, y, s, amperes=amperes, tail=tail: s[amperes] - tail,
                        lambda t, y, s, name=name: self._stage(t, name, FLOAT),
                    )
                )
        if self.law.engine and self.vehicle.alternator:
            found += self._smart_limits()
        if (
            self.standing.holder()
            and not self.far.battery.lead_acid
            and self.may_float
            and self.law.far in (CHARGING, DISCHARGING)
        ):
            found.append(_Watch(self._unsettled, self._float))
        if self.band and any(self.profiles[name].sensor for name, _, _ in self.standing.running()):
            low, high = self.band
            found.append(_Watch(lambda t, y, s: min(y[7] - low, high - y[7]), _nothing))
        found += [
            watch for place, watch in enumerate(self.cut_outs) if watch and self.on[place] and not self.cut[place]
        ]
        for store in (self.near, self.far):
            gives = getattr(self.law, store.stands) is DISCHARGING
            key = store.name, gives, store.empty, store.hot, store.refuses, store.may_charge, store.may_discharge
            if key not in self.known:
                self.known[key] = self._battery_limits(store, gives)
            found += self.known[key]
        return found

    def _cold(self, state: tuple) -> None:
        """Set what a charger with a sensor gives an LFP second battery at its temperature, and how far that holds."""
        battery = self.far.battery
        if not battery.lead_acid:
            temperature = min(HOTTEST, max(COLDEST, state[7]))
            band = temperature_band(battery.chemistry, temperature)
            self.band = band["low"], band["high"]
            cold = temperature < BASE_TEMPERATURE
            self.law.cold_rate = most_charge_rate(battery.chemistry, temperature) if cold else 1.0

    def _float(self, time: float, state: tuple, seen: tuple) -> None:
        """Let the second battery float, once until the clock turns something: it may not stand so after all."""
        self.law.far, self.may_float = FLOATING, False

    def _unsettled(self, time: float, state: tuple, seen: tuple) -> float:
        """Return how much fullness a held LFP battery still has to move, above that at which it counts as settled.

        Held at a voltage on the steep end of its curve it settles within minutes; what follows is slow, and to follow
        it with steps as short as that would cost a hundred times as much as it tells.
        """
        battery, h1, temperature = self.far.battery, state[4], state[7]
        if self.law.far is CHARGING:
            resistance = battery.charge_resistance(h1, temperature)
        else:
            resistance = battery.discharge_resistance(h1, temperature)
        steep = battery.emf_slope(h1)
        current, steady = seen[at.FAR_AMPERES], self.law.steady_current(state)
        spare = next(seen[amperes] for name, _, amperes in self.standing.running() if name == self.standing.holder())
        if steep < STIFF * resistance * battery.well_1 or spare <= 2 * abs(steady - current):
            return 1.0
        return abs(current - steady) * resistance / steep - SETTLED

    def _smart_limits(self) -> list[_Watch]:
        """Return where the starter battery's charge turns a smart alternator over."""
        alternator, charge = self.vehicle.alternator, self.vehicle.starter.mean_charge
        if alternator.margin(self.high, 50.0) == alternator.margin(self.high, 60.0):
            return []

        def over(t: float, y: tuple, s: tuple) -> None:
            self.high = not self.high
            self._lift(t)

        return [_Watch(lambda t, y, s: -alternator.margin(self.high, charge(y[0], y[1])), over)]

    def _battery_limits(self, store: Store, gives: bool) -> list[_Watch]:
        """Return where a battery is empty, comes back, gets too hot, or its own switch acts."""
        battery, place = store.battery, store.place
        found = []
        if store.empty:
            found.append(
                _Watch(
                    lambda t, y, s: RECOVERED - y[place] + s[store.void],
                    lambda t, y, s: self._filled(t, y, store),
                )
            )
        elif store.may_discharge:
            found.append(_Watch(lambda t, y, s: y[place] - s[store.void], lambda t, y, s: self._emptied(t, y, store)))
        if battery.lead_acid:
            edge, sign = (LEAD_ACID_HOT - COOLED, -1) if store.hot else (LEAD_ACID_HOT, 1)
            found.append(
                _Watch(
                    lambda t, y, s: sign * (edge - y[place + 3]), lambda t, y, s: self._heated(t, store, not store.hot)
                )
            )
            return found
        return found + self._own_switch(store, gives)

    def _own_switch(self, store: Store, gives: bool) -> list[_Watch]:
        """Return where an LFP battery's own switch parts it from its posts, or lets it back."""
        battery, place, volts = store.battery, store.place, store.volts
        found = []
        if store.may_discharge and gives:
            found.append(
                _Watch(lambda t, y, s: s[volts] - battery.opens_below, lambda t, y, s: self._emptied(t, y, store))
            )
        coldest, hottest = _charge_band(battery.chemistry)
        if store.may_charge:
            found += [
                _Watch(lambda t, y, s: battery.opens_above - s[volts], lambda t, y, s: self._refuse(t, store, "volts")),
                _Watch(lambda t, y, s: y[place + 3] - coldest, lambda t, y, s: self._refuse(t, store, "cold")),
                _Watch(lambda t, y, s: hottest - y[place + 3], lambda t, y, s: self._refuse(t, store, "hot")),
            ]
        else:
            back = {
                "volts": lambda t, y, s: s[volts] - battery.closes_below,
                "cold": lambda t, y, s: coldest + COOLED - y[place + 3],
                "hot": lambda t, y, s: y[place + 3] - hottest + COOLED,
            }[store.refuses]
            found.append(_Watch(back, lambda t, y, s: self._accept(t, store)))
        return found

    def _cut_out(self, place: int) -> _Watch | None:
        """Return where a consumer's own protection turns it off, if it has one: what draws a power does."""
        consumer = self.vehicle.consumers[place]
        load = consumer.load
        if not isinstance(load, Fridge) and not load.power:
            return None
        volts, battery = (at.FAR, self.vehicle.second) if consumer.at == "second" else (at.NEAR, self.vehicle.starter)
        if isinstance(load, Fridge):
            resistance = consumer.resistance + battery.resistance
            watts = at.FRIDGE_WATTS + sum(isinstance(c.load, Fridge) for c in self.vehicle.consumers[:place])

            def left(t, y, s):
                return load.lowest(s[volts], s[watts], resistance) - load.stops
        else:

            def left(t, y, s):
                return s[volts] - consumer.resistance * load.power / s[volts] - consumer.stops

        return _Watch(left, lambda t, y, s: self._cut(t, y, place, True))

    def _wishes(self) -> list[_Wish]:
        """Return every condition that has to last before something acts."""
        found = []
        link = self.vehicle.link
        if link.kind == "relay" and not self.chatters:
            found.append(self._relay_wish(link))
        if self.dc:
            found.append(self._charger_wish())
        found += [self._comes_back(place) for place in range(len(self.on)) if self.on[place] and self.cut[place]]
        for name, _, _ in self.standing.running():
            if self.stages[name] == FLOAT:
                profile = self.profiles[name]
                low = lambda t, y, s, p=profile: p.rebulk + p.shift(y[7]) - s[at.FAR]  # noqa: E731
                anew = lambda t, y, s, name=name: self._stage(t, name, BULK)  # noqa: E731
                found.append(_Wish(f"{name} anew", low, profile.rebulk_after, anew))
        return found

    def _comes_back(self, place: int) -> _Wish:
        """Return what turns on again a consumer that its own protection has turned off."""
        consumer = self.vehicle.consumers[place]
        starts = consumer.load.starts if isinstance(consumer.load, Fridge) else consumer.starts
        volts = at.FAR if consumer.at == "second" else at.NEAR
        return _Wish(
            f"back {place}", lambda t, y, s: s[volts] - starts, RETRY, lambda t, y, s: self._cut(t, y, place, False)
        )

    def _charger_wish(self) -> _Wish:
        """Return what would turn the DC-DC charger; with no engine and the starter battery empty it is off."""
        dc, engine, running = self.dc, self.law.engine, bool(self.law.charger)
        if self.near.empty and not engine:
            return _Wish("charger", lambda t, y, s: 1.0 if running else -1.0, 0.0, self._turn_charger)
        delay = dc.start_delay if not running else 0.0 if dc.ignition and not engine else dc.stop_delay
        return _Wish("charger", lambda t, y, s: dc.wants(running, s[at.INPUT_VOLTS], engine), delay, self._turn_charger)

    def _relay_wish(self, link) -> _Wish:
        """Return what would make the relay click next."""
        if not self.law.joined:
            return _Wish("relay", lambda t, y, s: s[at.NEAR] - link.connects_at, link.connect_delay, self._click)
        if link.either:
            low = lambda t, y, s: link.disconnects_at - max(s[at.NEAR], s[at.FAR])  # noqa: E731
        else:
            low = lambda t, y, s: link.disconnects_at - s[at.NEAR]  # noqa: E731
        return _Wish("relay", low, link.disconnect_delay, self._click)

    # what happens

    def _click(self, time: float, state: tuple, seen: tuple) -> None:
        """Close or open the relay."""
        self.law.joined = not self.law.joined
        self.tell(time, "relay_closes" if self.law.joined else "relay_opens")
        if self.law.joined:
            self.clicks = [t for t in self.clicks if t > time - 1.0] + [time]
            if len(self.clicks) > MOST_CLICKS:
                self.law.joined, self.chatters = False, True
                self.tell(time, "relay_chatters")

    def _turn_charger(self, time: float, state: tuple, seen: tuple) -> None:
        """Turn the DC-DC charger on or off."""
        if self.law.charger:
            self._off(time, "charger")
            self.tell(time, "charger_stops")
        else:
            self.law.charger = RATED
            self.tell(time, "charger_starts")
            self._stage(time, "charger", BULK)

    def _emptied(self, time: float, state: tuple, store: Store) -> None:
        """Let nothing more come from a battery, and turn its loads off."""
        store.empty, store.may_discharge = True, False
        self.tell(time, "battery_empty", store.name)
        self._consumers(time, state, None)

    def _filled(self, time: float, state: tuple, store: Store) -> None:
        """Let a battery give again, and its loads draw."""
        store.empty, store.may_discharge = False, True
        self.tell(time, "battery_back", store.name)
        self._consumers(time, state, None)

    def _heated(self, time: float, store: Store, hot: bool) -> None:
        """Note that a lead-acid battery is too hot to be charged, or no longer."""
        store.hot = hot
        if store is self.far:
            self.law.too_hot = hot
        if hot:
            self.tell(time, "battery_hot", store.name)

    def _refuse(self, time: float, store: Store, why: str) -> None:
        """Let an LFP battery take no charge."""
        store.may_charge, store.refuses = False, why
        self.law.too_hot = store is self.far and why == "hot"
        self.tell(time, "charge_refused", store.name)

    def _accept(self, time: float, store: Store) -> None:
        """Let an LFP battery take a charge again."""
        store.may_charge = True
        self.law.too_hot = self.law.too_hot and store is not self.far
        self.tell(time, "charge_accepted", store.name)

    def _cut(self, time: float, state: tuple, place: int, cut: bool) -> None:
        """Turn a consumer off or on by its own protection."""
        self.cut[place] = cut
        self.tell(time, "consumer_cut" if cut else "consumer_back", self.vehicle.consumers[place].name)
        self._draws()

    # what is known beforehand

    def _next_leg(self, time: float, state: tuple, seen: tuple | None) -> None:
        """Begin the next leg, or end the trip."""
        self.leg += 1
        if self.leg == len(self.legs):
            self.over = True
            return
        leg, law, vehicle = self.legs[self.leg], self.law, self.vehicle
        self.due["leg"] = time + leg.hours, self._next_leg
        self.tell(time, "leg_starts", leg.kind)
        if vehicle.alternator and self.leg:
            law.warm_from = law.alternator_temperature(time)
        law.mean, law.swing = (leg.hottest + leg.coldest) / 2, (leg.hottest - leg.coldest) / 2
        if vehicle.alternator and not self.leg:
            law.warm_from = law.air(time)
        law.warm_since = time
        law.idling = leg.idling
        self._engine(time, leg, state)
        self._plug(time, leg.kind == "plugged")
        if self.leg:
            self._sky(time)
        self._draws()

    def _engine(self, time: float, leg, state: tuple) -> None:
        """Start or stop the engine as the leg asks, and turn with it what hangs on it."""
        law, vehicle, drives = self.law, self.vehicle, leg.kind == "drive"
        was = law.engine
        if drives and not was:
            self.high, self.chatters = True, False
            starts = not vehicle.engine or vehicle.engine.crank(state[0], state[3]).verdict != "no"
            self.tell(time, "engine_starts" if starts and not self.near.empty else "engine_would_not_start")
        law.engine = drives
        law.alternator = (law.alternator or HOLDS) if drives and vehicle.alternator else None
        self.lifts, self.lifted = [], False
        if law.alternator:
            spells = vehicle.alternator.lifted(leg.hours, leg.overrun, self.every)
            spells = spells[1:] if was else spells
            self.lifts = [(time + t, up) for first, last in spells for t, up in ((first, True), (last, False))]
            self._lift(time)
        if vehicle.link.kind in ("wire", "switch"):
            law.joined = vehicle.link.kind == "wire" or drives or vehicle.link.left_on

    def _lift(self, time: float, state: tuple | None = None, seen: tuple | None = None) -> None:
        """Set whether a smart alternator is up, and when overrun may next turn that: not while it is up in any case."""
        while self.lifts and self.lifts[0][0] <= time + INSTANT:
            self.lifted = self.lifts.pop(0)[1]
        self.due.pop("lift", None)
        if self.lifts and not self.high:
            self.due["lift"] = self.lifts[0][0], self._lift
        up = self.vehicle.alternator.up(self.high, self.lifted)
        if up != self.law.up:
            self.tell(time, "alternator_rises" if up else "alternator_rests")
        self.law.up = up

    def _plug(self, time: float, plugged: bool) -> None:
        """Turn the mains charger on or off."""
        if plugged and self.vehicle.mains and not self.law.mains:
            self.law.mains = RATED
            self._stage(time, "mains", BULK)
        elif not plugged and self.law.mains:
            self._off(time, "mains")

    def _sky(self, time: float) -> None:
        """Set the sun of the day and sky, and when it next turns."""
        if self.law.solar and self.vehicle.panels:
            self.day = floor((time + self.start.hour) / 24 + EDGE)
            self._make_day()
            self._sun(time)

    def _make_day(self) -> None:
        """Make the sun of a day, and the hours of the trip at which it turns."""
        number = (self.start.day - 1 + self.day) % 365 + 1
        eighths = self.legs[self.leg].eighths
        self.today = sun.day(self.vehicle.latitude, number, eighths, self.vehicle.panels)
        midnight = 24.0 * self.day - self.start.hour
        lasts = self.today.power(24.0 - EDGE, 0.0) > 0 or not self.today.turns
        self.turns = [midnight + hour for hour in (*self.today.turns, *((24.0,) if lasts else ()))]

    def _sun(self, time: float, state: tuple | None = None, seen: tuple | None = None) -> None:
        """Turn the sun on or off at a turn of its day, and set when it next turns."""
        while self.turns and self.turns[0] <= time + INSTANT:
            self.turns.pop(0)
        while not self.turns:
            self.day += 1
            self._make_day()
        self.due["sun"] = self.turns[0], self._sun
        middle = (time + self.turns[0]) / 2
        shines = self.today.power((middle + self.start.hour) % 24, 0.0) > 0
        limit = self.dc.solar_input if self.dc and not self.vehicle.solar else None
        power = self.today.power
        self.law.sunshine = (lambda hour, air: min(limit, power(hour, air))) if limit else power
        if shines and not self.law.sun:
            self.law.sun = LIMITED
            self.tell(time, "sun_rises")
            self._stage(time, "sun", BULK)
        elif not shines and self.law.sun:
            self._off(time, "sun")
            self.tell(time, "sun_sets")

    def _consumers(self, time: float, state: tuple | None, seen: tuple | None) -> None:
        """Turn on and off what goes by the clock or hangs on an empty battery, and set when that is next asked."""
        hour, turns = time + self.start.hour, []
        for place, consumer in enumerate(self.vehicle.consumers):
            load = consumer.load
            clocked = isinstance(load, Fridge) or load.on((hour + EDGE) % 24)
            on = clocked and not (self.near if consumer.at == "starter" else self.far).empty
            if on != self.on[place]:
                self.on[place], self.cut[place] = on, False
                self.due.pop(f"back {place}", None)
                self.tell(time, "consumer_on" if on else "consumer_off", consumer.name)
            if not isinstance(load, Fridge):
                turns += [time + ((turn - hour - EDGE) % 24) + EDGE for turn in load.turns]
        if turns:
            self.due["consumers"] = min(turns), self._consumers
        self._draws()

    def draws(self, place: int) -> bool:
        """Return whether a consumer draws now."""
        return self.on[place] and not self.cut[place]

    def _draws(self) -> None:
        """Add up what is on."""
        law = self.law
        law.far_current = law.near_power = law.far_power = 0.0
        self.base_current = self.vehicle.base_load if law.engine and not self.near.empty else 0.0
        law.near_current = self.base_current
        fridges, number = [], 0
        for place, consumer in enumerate(self.vehicle.consumers):
            is_near, load, draws = consumer.at == "starter", consumer.load, self.draws(place)
            if isinstance(load, Fridge):
                if draws:
                    fridges.append((load.power, is_near, number))
                number += 1
            elif draws and is_near:
                law.near_current += load.current
                law.near_power += load.power
            elif draws:
                law.far_current += load.current
                law.far_power += load.power
        law.fridges = tuple(fridges)


def _nothing(time: float, state: tuple, seen: tuple) -> None:
    """Do nothing but look again."""


@cache
def _charge_band(chemistry: str) -> tuple[float, float]:
    """Return between which temperatures a battery may be charged at all."""
    allowed = [t for t in range(-60, 81) if temperature_band(chemistry, t)["level"] != "stop"]
    return allowed[0], allowed[-1]
