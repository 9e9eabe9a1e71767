"""A trip once more, from the equations in the docstrings of `calc.physics.trip` and `calc.physics.battery` alone.

SciPy integrates at rtol 1e-9 and finds the events; each voltage is found by Brent's method on the currents of its
point. Nothing is told apart beforehand: what a source gives is a curve over the voltage, and so is what a battery
takes. It shares with the book what it is not about (a battery's constants, the sun's power, a fridge's, a charger's
profile), and leaves out what its trips do not have: an empty starter battery, a battery that refuses a charge, and
chargers with a sensor or with panels of their own.
"""

from __future__ import annotations

import math

from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from calc.physics import sun
from calc.physics.charger import ABSORPTION, BULK, FLOAT
from calc.physics.fridge import Fridge
from calc.tables import assumption

TIGHT = {"method": "LSODA", "rtol": 1e-9, "atol": 1e-11, "max_step": 0.05, "dense_output": True}
VOLTS = {"xtol": 1e-13, "rtol": 1e-14}
EDGE = 1e-9
"""A condition this near to its edge counts as met [V]."""

RETRY, RECOVERED = 0.5, 0.1
"""How long the voltage has to stay before what turned itself off comes back [h]; how far an empty battery fills [-]."""

STAGES = {BULK: "stage_bulk", ABSORPTION: "stage_absorption", FLOAT: "stage_float"}


class Reference:
    """A vehicle on its trip."""

    def __init__(self, vehicle, legs, start):
        self.v, self.start = vehicle, start
        self.events, self.pieces = [], []
        self.joined, self.dc_on, self.stage, self.since = vehicle.link.kind == "wire", False, {}, {}
        self.pending = {}
        self.up = self.high = self.empty = False
        self.cut, self.on = set(), {}
        self.engine, self.started, self.every = False, 0.0, assumption("overrun_every")["value"]
        dc, mains, solar = vehicle.link.charger, vehicle.mains, vehicle.solar
        self.profiles = {
            name: thing.profile for name, thing in (("charger", dc), ("mains", mains), ("sun", solar)) if thing
        }
        state = []
        for battery, charge, warmer in (
            (vehicle.starter, start.starter, 0),
            (vehicle.second, start.second, vehicle.second_warmer),
        ):
            h = battery.fullness(charge)
            state += [h, h, 0.0, legs[0].coldest + warmer]
        self.leg, now, self.warm = None, 0.0, (legs[0].coldest, legs[0].coldest, 0.0)
        for leg in legs:
            state = self.follow(leg, now, state)
            now += leg.hours

    # the circuit

    def currents(self, battery, y, volts):
        """Return main current and all current of a battery at a voltage."""
        h1, _, s, temperature = y
        shift, r_d, r_c, available, gas, _ = battery.warmth(temperature)
        x = volts - battery.emf(h1) - shift - s
        if x <= 0 and self.empty and battery is self.v.second:
            return 1e-9 * x, 1e-9 * x
        narrow = x / battery.discharge_resistance_at(h1, r_d, available)
        if x <= 0:
            return narrow, narrow
        wide = x / battery.charge_resistance_at(h1, r_c)
        if not battery.lead_acid:
            return wide, wide * (1 + battery.gas_share)
        whole = wide + battery.gassing_at(volts, gas)
        return (0.0, narrow) if narrow < whole else (wide, whole)

    def air(self, t):
        hour = t + self.start.hour
        mean, swing = (self.leg.hottest + self.leg.coldest) / 2, (self.leg.hottest - self.leg.coldest) / 2
        return mean + swing * math.cos(2 * math.pi * (hour - 15) / 24)

    def drawn(self, t, volts, at):
        """Return what the consumers of a point draw."""
        total = 0.0
        for consumer in self.v.consumers:
            load = consumer.load
            if consumer.at != at or consumer.name in self.cut or (at == "second" and self.empty):
                continue
            if isinstance(load, Fridge):
                total += load.power(self.air(t) + self.v.inside_warmer) / volts
            elif self.on[consumer.name]:
                total += load.current + load.power / volts
        return total + (self.v.base_load if at == "starter" and self.engine else 0.0)

    def alternator(self, t, volts):
        """Return what the alternator gives."""
        if not self.engine:
            return 0.0
        made, (first, last, since) = self.v.alternator, self.warm
        own = last + (first - last) * math.exp((since - t) / made.warming)
        asked = (made.voltage(own, self.up) - volts) / self.v.alternator_resistance
        return min(max(asked, 0.0), made.limit(own, self.leg.idling))

    def lifted(self, t):
        """Return whether a smart alternator is up in any case: for a while after the start, and on overrun."""
        since = t - self.started
        return since < self.v.alternator.first or since % self.every >= self.every * (1 - self.leg.overrun)

    def edges(self, t):
        """Return when that changes next."""
        since, every, share = t - self.started, self.every, self.leg.overrun
        rounds = math.floor(since / every)
        found = [self.v.alternator.first, *((n + k) * every for n in (rounds, rounds + 1) for k in (1, 1 - share))]
        return [self.started + edge for edge in found]

    def power(self, t, near):
        """Return what a DC-DC charger's input lets it give: at its limit of current, or where its voltage eases it."""
        dc, r = self.v.link.charger, self.v.link.resistance

        def left(va, more):
            return (
                self.currents(self.v.starter, near, va)[1]
                + self.drawn(t, va, "starter")
                - self.alternator(t, va)
                + more
            )

        va = brentq(lambda va: left(va, dc.input_limit), 5, 16, **VOLTS)
        current = dc.input_limit
        if va - r * current < dc.eases:
            va = brentq(lambda va: left(va, (va - dc.eases) / r), 5, 16, **VOLTS)
            current = (va - dc.eases) / r
        return dc.efficiency * (va - r * current) * max(0.0, current - dc.idle)

    def sources(self, t, volts, temperature):
        """Return for each charger that is on the most it gives at a voltage, and the voltage it does not exceed."""
        found = {}
        if self.stage.get("sun") is not None:
            watts = self.day.power((t + self.start.hour) % 24, self.air(t))
            found["sun"] = min(watts / volts, self.v.solar.rated)
        if self.stage.get("mains") is not None:
            found["mains"] = self.v.mains.rated
        if self.dc_on:
            dc = self.v.link.charger
            rated = dc.rated * dc.heat_share(self.air(t) + self.v.inside_warmer)
            found["charger"] = min(rated, self.allowed / volts)
        return {
            name: (most, self.profiles[name].voltage(self.stage[name], temperature)) for name, most in found.items()
        }

    def given(self, t, volts, temperature):
        """Return what all chargers together give, each until its own voltage."""
        return sum(most for most, held in self.sources(t, volts, temperature).values() if volts < held)

    def solve(self, t, y):
        """Return both voltages, and what each charger gives."""
        near, far = y[:4], y[4:]
        v = self.v
        self.allowed = self.power(t, near) if self.dc_on else 0.0

        def at_b(volts):
            return (
                self.currents(v.second, far, volts)[1] + self.drawn(t, volts, "second") - self.given(t, volts, far[3])
            )

        def at_a(volts, more):
            return (
                self.currents(v.starter, near, volts)[1]
                + self.drawn(t, volts, "starter")
                - self.alternator(t, volts)
                + more
            )

        if self.joined:
            r = v.link.resistance
            va = brentq(lambda va: at_b(va + r * at_a(va, 0.0)) + at_a(va, 0.0), 9, 16, **VOLTS)
            vb = va + r * at_a(va, 0.0)
        else:
            vb = brentq(at_b, 9, 16, **VOLTS)
        gives, left = {}, self.currents(v.second, far, vb)[1] + self.drawn(t, vb, "second")
        if self.joined:
            left -= (va - vb) / r
        sources = self.sources(t, vb, far[3])
        for name in sorted(sources, key=lambda name: (-sources[name][1], ("sun", "mains", "charger").index(name))):
            most, held = sources[name]
            gives[name] = min(most, max(0.0, left)) if vb < held + 1e-9 else 0.0
            left -= gives[name]
        if self.joined:
            return va, vb, va, gives
        if not self.dc_on:
            va = brentq(lambda va: at_a(va, 0.0), 9, 16, **VOLTS)
            return va, vb, va, gives
        dc, r = v.link.charger, v.link.resistance
        asked = vb * gives["charger"] / dc.efficiency

        def into(va):
            low = va - r * dc.idle
            return dc.idle + 2 * asked / (low + math.sqrt(low * low - 4 * r * asked))

        va = brentq(lambda va: at_a(va, into(va)), 9, 16, **VOLTS)
        assert not asked or (into(va) < dc.input_limit + 1e-6 and va - r * into(va) > dc.eases - 1e-6)
        return va, vb, va - r * into(va), gives

    # the law

    def rates(self, t, y):
        """Return the derivatives."""
        va, vb, _, _ = self.solve(t, y)
        found, air = [], self.air(t)
        warmths = air + (self.v.bay_warmer if self.engine else 0.0), air + self.v.second_warmer
        for battery, volts, around, (h1, h2, s, temperature) in zip(
            (self.v.starter, self.v.second), (va, vb), warmths, (y[:4], y[4:]), strict=True
        ):
            main, whole = self.currents(battery, (h1, h2, s, temperature), volts)
            sigma = battery.warmth(temperature)[5]
            pipe = (battery.flow if h1 < h2 else battery.flow_in) * (h1 - h2)
            loss = battery.loss(volts, main, whole - main, h1, h2, sigma)
            found += [
                (main - pipe) / battery.well_1 - sigma * h1,
                pipe / battery.well_2 - sigma * h2,
                -s * s / (battery.surface_most * battery.surface_half) + s * min(0.0, main) / battery.surface_drain,
                (around - temperature) / battery.cooling_hours + loss / battery.heat_capacity,
            ]
        return found

    # what happens

    def tell(self, t, key, name=""):
        self.events.append((t, key, name))

    def set_stage(self, t, name, stage):
        self.stage[name], self.since[name] = stage, t
        self.tell(t, STAGES[stage], name)

    def wishes(self, t, y):
        """Return each condition with a delay: its number, above 0 while it holds, and how long that has to last."""
        va, vb, v1, _ = self.solve(t, y)
        link, found = self.v.link, {}
        if link.kind == "relay":
            wish = link.disconnects_at - va if self.joined else va - link.connects_at
            found["relay"] = wish, link.disconnect_delay if self.joined else link.connect_delay
        if link.kind == "charger":
            dc = link.charger
            stops = 0.0 if dc.ignition and not self.engine else dc.stop_delay
            found["charger"] = dc.wants(self.dc_on, v1, self.engine), stops if self.dc_on else dc.start_delay
        for name, stage in self.stage.items():
            if stage == FLOAT and name in self.profiles:
                profile = self.profiles[name]
                found[f"anew {name}"] = profile.rebulk + profile.shift(y[7]) - vb, profile.rebulk_after
        for consumer in self.v.consumers:
            if consumer.name in self.cut:
                starts = (consumer.load if isinstance(consumer.load, Fridge) else consumer).starts
                found[f"back {consumer.name}"] = (vb if consumer.at == "second" else va) - starts, RETRY
        return found

    def act(self, t, name):
        if name == "relay":
            self.joined = not self.joined
            self.tell(t, "relay_closes" if self.joined else "relay_opens")
        elif name == "charger":
            self.dc_on = not self.dc_on
            self.tell(t, "charger_starts" if self.dc_on else "charger_stops")
            if self.dc_on:
                self.set_stage(t, "charger", BULK)
            else:
                del self.stage["charger"]
        elif name.startswith("back "):
            self.cut.discard(name.removeprefix("back "))
            self.tell(t, "consumer_back", name.removeprefix("back "))
        else:
            self.set_stage(t, name.removeprefix("anew "), BULK)

    def fall(self, t, name):
        """Do what follows where a limit is reached that is no charger's."""
        what, which = name.split()
        if what == "latch":
            self.high = not self.high
        elif what == "cut":
            self.cut.add(which)
            self.tell(t, "consumer_cut", which)
        else:
            self.empty = what == "empty"
            self.cut.clear()
            self.tell(t, "battery_empty" if self.empty else "battery_back", "second")

    def limits(self, t, y, va, vb):
        """Return by name what falls through 0 where a battery is empty or back, a load cuts out, or a latch turns."""
        second, found = self.v.second, {}
        spare = y[4] - second.empty(y[7])
        if self.empty:
            found["filled second"] = RECOVERED - spare
        else:
            gives = not second.lead_acid and self.currents(second, y[4:], vb)[0] < 0
            found["empty second"] = min(spare, vb - second.opens_below) if gives else spare
        for consumer in self.v.consumers:
            load, off = consumer.load, self.empty and consumer.at == "second"
            volts, battery = (vb, second) if consumer.at == "second" else (va, self.v.starter)
            if off or consumer.name in self.cut:
                continue
            if isinstance(load, Fridge):
                mean = load.power(self.air(t) + self.v.inside_warmer)
                lowest = load.lowest(volts, mean, consumer.resistance + battery.resistance)
                found[f"cut {consumer.name}"] = lowest - load.stops
            elif load.power and self.on[consumer.name]:
                found[f"cut {consumer.name}"] = volts - consumer.resistance * load.power / volts - consumer.stops
        made = self.v.alternator
        if self.engine and made.kind == "smart":
            charge = self.v.starter.mean_charge(y[0], y[1])
            found["latch starter"] = made.full_above - charge if self.high else charge - made.low_below
        return found

    def crossings(self, t, y, near=1e-7):
        """Return by name what falls through 0 where a stage is over; a voltage this near counts as held."""
        va, vb, _, gives = self.solve(t, y)
        found = self.limits(t, y, va, vb)
        for name, stage in self.stage.items():
            profile = self.profiles[name]
            held = profile.voltage(stage, y[7])
            if stage == BULK:
                found[f"reached {name}"] = held - vb - 1e-9
            elif stage == ABSORPTION:
                holds = abs(vb - held) < near and gives[name] < self.sources(t, vb, y[7])[name][0] - 1e-9
                found[f"tail {name}"] = gives[name] - profile.tail if holds else 1.0
        return found

    def follow(self, leg, begin, state):
        """Return the state at the end of a leg."""
        was, self.leg, self.engine = self.engine, leg, leg.kind == "drive"
        if self.engine and not was:
            self.started, self.high = begin, True
        mean = (leg.coldest + leg.hottest) / 2
        first, last, since = self.warm
        if self.v.alternator:
            own = last + (first - last) * math.exp((since - begin) / self.v.alternator.warming)
            own = self.air(0.0) if begin == 0 else own
            self.warm = own, mean + (self.v.alternator.rise if self.engine else 0.0), begin
        if begin == 0:
            state = [*state[:3], self.air(0.0), *state[4:7], self.air(0.0) + self.v.second_warmer]
        if leg.kind == "plugged":
            self.set_stage(begin, "mains", BULK)
        else:
            self.stage.pop("mains", None)
        t, end = begin, begin + leg.hours
        while t < end - 1e-9:
            t, state = self.piece(t, end, state)
        return state

    def clock(self, t, end):
        """Return the next time that is known beforehand, having turned what goes by the clock."""
        hour = t + self.start.hour
        number = math.floor(hour / 24 + 1e-9)
        self.day = sun.day(self.v.latitude, (self.start.day - 1 + number) % 365 + 1, self.leg.eighths, self.v.panels)
        turns = [24 * number + turn - self.start.hour for turn in self.day.turns]
        turns += [24 * (number + 1) - self.start.hour]
        self.on = {}
        for consumer in self.v.consumers:
            if not isinstance(consumer.load, Fridge):
                self.on[consumer.name] = consumer.load.on((hour + 1e-6) % 24)
                turns += [24 * n + turn - self.start.hour for turn in consumer.load.turns for n in (number, number + 1)]
        if self.engine and self.v.alternator.kind == "smart":
            turns += self.edges(t + 1e-6)
        later = min([turn for turn in turns if turn > t + 1e-6] + [end])
        if self.v.solar:
            shines = self.day.power((t + 1e-5 + self.start.hour) % 24, 10.0) > 0
            if shines and "sun" not in self.stage:
                self.set_stage(t, "sun", BULK)
            elif not shines:
                self.stage.pop("sun", None)
        return later

    def rise(self, t):
        """Put an alternator up, or a smart one down."""
        up = self.v.alternator.kind != "smart" or self.high or self.lifted(t + 1e-6)
        if self.engine and up != self.up:
            self.up = up
            self.tell(t, "alternator_rises" if up else "alternator_rests")

    def stopped(self, t, y, before):
        """Return the state with what a charge leaves behind that has just stopped at once."""
        y = list(y)
        after = self.solve(t, y)
        for battery, place, k in ((self.v.starter, 0, 0), (self.v.second, 4, 1)):
            part = y[place : place + 4]
            if before and before[k][1] > 0 and self.currents(battery, part, after[k])[0] < 0:
                y[place + 2] = max(part[2], battery.surface_after(before[k][0], part[0], part[3]))
        return y

    def piece(self, t, end, y):
        """Follow the law until something turns, and turn it."""
        before = getattr(self, "before", None)
        later = self.clock(t, end)
        self.rise(t)
        y = self.stopped(t, y, before)
        while self.turn(t, y):
            pass
        for name, (value, delay) in self.wishes(t, y).items():
            if value > -EDGE:
                self.pending.setdefault(name, t + delay)
            else:
                self.pending.pop(name, None)
        self.pending = {name: when for name, when in self.pending.items() if name in self.wishes(t, y)}
        for name, stage in self.stage.items():
            if stage == ABSORPTION:
                later = min(later, self.since[name] + self.profiles[name].longest)
        later = min([later, *self.pending.values()])
        names = [*self.crossings(t, y)]
        if later > t + 1e-9:
            rules = [self.rule(name) for name in names]
            rules += [self.turned(name, value) for name, (value, _) in self.wishes(t, y).items()]
            done = solve_ivp(self.rates, (t, later), y, events=rules, **TIGHT)
            self.pieces.append((t, done.t[-1], done.sol))
            t, y = done.t[-1], done.y[:, -1]
        va, vb, _, _ = self.solve(t, y)
        mains = [(volts, self.currents(b, part, volts)[0]) for b, part, volts in
                 ((self.v.starter, y[:4], va), (self.v.second, y[4:], vb))]  # fmt: skip
        self.before = mains
        self.turn(t, y)
        return t, y

    def turn(self, t, y):
        """Turn all that is due, and return whether there was anything."""
        told = len(self.events)
        for name, when in [*self.pending.items()]:
            if when <= t + 1e-9:
                del self.pending[name]
                self.act(t, name)
        for name, value in self.crossings(t, y, 1e-6).items():
            which = name.split()[1]
            if value <= 2e-9 and name.split()[0] not in ("reached", "tail"):
                self.fall(t, name)
            elif value <= 2e-9 and which in self.stage:
                self.set_stage(t, which, ABSORPTION if name.startswith("reached") else FLOAT)
        for name, stage in [*self.stage.items()]:
            if stage == ABSORPTION and t >= self.since[name] + self.profiles[name].longest - 1e-9:
                self.set_stage(t, name, FLOAT)
        return len(self.events) > told

    def rule(self, name):
        def crosses(t, y):
            return self.crossings(t, y)[name]

        crosses.terminal, crosses.direction = True, -1
        return crosses

    def turned(self, name, value):
        def crosses(t, y):
            return self.wishes(t, y)[name][0] + (2 * EDGE if holds else 0.0)

        holds = value > -EDGE
        crosses.terminal, crosses.direction = True, -1 if holds else 1
        return crosses

    def charges(self, t):
        """Return both charges at a time that is no event."""
        y = next(sol(t) for first, last, sol in self.pieces if first <= t <= last)
        return self.v.starter.mean_charge(y[0], y[1]), self.v.second.mean_charge(y[4], y[5])
