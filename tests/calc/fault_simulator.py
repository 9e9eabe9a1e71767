"""Broken vehicles that answer what a finder asks, made without the finder's own circuit, curves or particles.

The circuit is solved by dense nodal analysis with NumPy: every battery, alternator and charger is tried in each of its
modes until one set of modes agrees with itself. Resting voltages are read from the published tables; how a battery
takes charge follows the constants of Schiffer et al. 2007. What nobody knows is drawn by triangular and beta laws where
the finder spreads it evenly, and every reading gets a meter's gain, its last digits and some drift.
"""

from __future__ import annotations

import csv
import itertools
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

import calc.tables
from calc.physics.faults import Vehicle, places_in

TABLES = Path(calc.tables.__file__).parent
NODES = ("S", "A+", "A-", "F", "LI", "LO", "R", "B", "B-", "D+", "D-")
PROBES = {
    "second": ("B", "B-"), "starter": ("S", "0"), "alternator": ("A+", "A-"), "link-in": ("LI", "0"),
    "link-out": ("LO", "0"), "link": ("LI", "LO"), "front-fuse": ("S", "F"), "rear-fuse": ("R", "B"),
    "front-cable": ("F", "LI"), "run": ("F", "R"), "second-earth": ("B-", "0"), "engine-earth": ("A-", "0"),
    "alternator-cable": ("A+", "S"), "load": ("D+", "D-"), "load-plus": ("B", "D+"), "load-minus": ("D-", "B-"),
}  # fmt: skip
LOOSE = ("link-in", "link-out", "link", "front-fuse", "rear-fuse", "front-cable", "run")
"""Places that may hang on nothing, so that the meter itself decides what it shows."""

METER = 1e-7
"""Conductance of a meter of 10 Mohm [S]."""

LEAK = 1e-10
"""What ties every point to ground, even one that hangs on nothing [S]."""

STIFF = 1e4
"""Conductance of a source that holds its voltage [S]."""

BLEED = 1 / 5000
"""Conductance of the electronics at a relay's or charger's input [S]."""


def rows(name: str) -> list[dict]:
    """Return the rows of a table, read here and not by the book's reader."""
    lines = (TABLES / f"{name}.csv").read_text("utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if line and not line.startswith("#")))


def curve(name: str, column: str, extra: tuple[tuple[float, float], ...] = ()) -> tuple[list[float], list[float]]:
    """Return charges and voltages of a published curve, with points from elsewhere."""
    points = [(float(r["charge"]), float(r[column])) for r in rows(name) if r[column]]
    return tuple(map(list, zip(*sorted([*points, *extra]), strict=True)))


CURVES = {
    "flooded": curve("bci_rest_voltage", "voltage"),
    "calcium": curve("memory_rest_voltage", "calcium"),
    "gel": curve("memory_rest_voltage", "gel"),
    "agm": curve("agm_vehicle_rest_voltage", "voltage_low", ((0.0, 11.8),)),
    "lfp": curve("simses_lfp_ocv", "cell"),
}
SPREADS = {r["key"]: (float(r["low"]), float(r["high"]), r["law"] == "log") for r in rows("fault_spreads")}
RESISTANCES = {
    r["key"].removeprefix("internal_resistance_"): (float(r["low"]), float(r["value"]), float(r["high"]))
    for r in rows("assumptions")
    if r["key"].startswith("internal_resistance_")
}
SCHIFFER = {r["key"]: float(r["value"]) for r in rows("schiffer_2007")}
CHANGES = rows("fault_changes")


def rest(chemistry: str, charge: float) -> float:
    """Return a resting voltage by the published curve [V]."""
    charges, volts = CURVES[chemistry]
    return float(np.interp(charge, charges, volts)) * (4 if chemistry == "lfp" else 1)


def taking(gives: float, charge: float) -> float:
    """Return the resistance in charge for one in discharge, growing as by Schiffer et al. 2007 [ohm]."""
    full = charge / 100
    return gives * (1.5 + SCHIFFER["Mc"] * full / (SCHIFFER["Cc"] + 0.03 - full))


@dataclass
class Case:
    """One broken vehicle.

    Attributes
    ----------
    set_up : what is known of it
    cause : what is wrong
    truth : its own values
    meter : the share by which its owner's meter reads high
    rng : of the noise
    """

    set_up: Vehicle
    cause: str
    truth: dict
    meter: float
    rng: np.random.Generator
    solved: dict = field(default_factory=dict)
    shown: dict = field(default_factory=dict)

    def exact(self, place: str, state: str) -> float:
        """Return what a perfect meter shows."""
        between = PROBES[place] if place in LOOSE else None
        if (state, between) not in self.solved:
            self.solved[state, between] = solve(self.truth, self.set_up, state, between)
        volts = self.solved[state, between]
        if place in ("second-drain", "starter-drain", "ignition"):
            return volts[place]
        red, black = PROBES[place]
        return volts[red] - volts[black]

    def ask(self, place: str, state: str) -> float:
        """Return what this meter shows; the same if asked again."""
        if (place, state) not in self.shown:
            drift = {"cranking": 0.12}.get(state, 0.012)
            noise = self.rng.normal(0, drift) + self.rng.uniform(-0.01, 0.01)
            share = self.rng.normal(0, 0.02) if place not in ("second", "starter", "alternator", "load") else 0.0
            if place.endswith("-drain"):
                noise, share = self.rng.uniform(-0.01, 0.01), self.rng.normal(0, 0.04)
            exact = self.exact(place, state) * (1 + share)
            self.shown[place, state] = round(exact * (1 + self.meter) + noise, 2)
        return self.shown[place, state]


def tri(rng: np.random.Generator, low: float, high: float, log: bool = False) -> float:
    """Return a value by a triangular law, on a logarithmic scale where asked."""
    if high <= low:
        return low
    if log:
        return float(np.exp(rng.triangular(np.log(low), (np.log(low) + np.log(high)) / 2, np.log(high))))
    return float(rng.triangular(low, (low + high) / 2, high))


def beta(rng: np.random.Generator, low: float, high: float, log: bool = False) -> float:
    """Return a value by a beta law that keeps near neither end, on a logarithmic scale where asked."""
    share = rng.beta(1.3, 1.3)
    return float(low * (high / low) ** share if log else low + (high - low) * share)


def set_ups(rng: np.random.Generator, count: int) -> list[Vehicle]:
    """Return random set-ups, some well known and some hardly."""
    return [set_up(rng) for _ in range(count)]


def set_up(rng: np.random.Generator) -> Vehicle:
    """Return what an owner may know of a vehicle."""

    def known(low: float, high: float, spread: float, chance: float = 0.6) -> tuple[float, float]:
        if rng.random() > chance:
            return low, high
        middle = rng.uniform(low, high)
        return middle * (1 - spread), middle * (1 + spread)

    length, area = rng.uniform(3, 8), rng.choice((10.0, 16.0, 25.0, 35.0))
    front = 0.0185 * length / area
    capacity, load = rng.choice((75.0, 90.0, 100.0, 120.0, 200.0)), rng.uniform(2.5, 12)
    starter = rng.choice((50.0, 70.0, 90.0, 110.0))
    rating = rng.choice((18.0, 25.0, 30.0, 40.0))
    return Vehicle(
        link=str(rng.choice(("relay", "charger", "switch", "wire", "none"), p=(0.42, 0.38, 0.08, 0.06, 0.06))),
        return_path=str(rng.choice(("body", "cable"), p=(0.7, 0.3))),
        smart=bool(rng.random() < 0.5),
        ignition=str(rng.choice(("yes", "no", "unknown"))),
        chemistry=str(rng.choice(("agm", "flooded", "calcium", "gel", "lfp"), p=(0.4, 0.2, 0.1, 0.1, 0.2))),
        starter_chemistry=str(rng.choice(("calcium", "flooded", "agm"))),
        capacity=(0.95 * capacity, 1.05 * capacity),
        starter_capacity=(0.9 * starter, 1.1 * starter),
        set_point=known(13.8, 14.7, 0.01),
        output=known(40.0, 110.0, 0.2, 0.3),
        connects_at=known(13.2, 13.5, 0.008),
        rating=(rating * 0.93, rating * 1.03),
        profile=known(14.2, 14.6, 0.006, 0.8),
        front_cable=(front * 0.85, front * 1.25),
        rear_cable=(front * 0.08, front * 0.3),
        load=(load * 0.8, load * 1.2),
    )


def causes_of(v: Vehicle) -> dict[str, dict]:
    """Return the causes that a set-up can have, from the table."""
    needs = {
        "": True,
        "lead_acid": v.chemistry != "lfp",
        "lfp": v.chemistry == "lfp",
        "smart": v.smart,
        "ignition": v.ignition != "no",
    }
    return {r["key"]: r for r in rows("fault_causes") if v.link in r["links"].split() and needs[r["needs"]]}


def case(rng: np.random.Generator, v: Vehicle, cause: str | None = None) -> Case:
    """Return a vehicle of a set-up with something wrong, by how often it is met."""
    known = causes_of(v)
    if cause is None:
        shares = np.array([float(r["prior"]) for r in known.values()])
        cause = str(rng.choice(list(known), p=shares / shares.sum()))
    row = known[cause]
    truth = well(rng, v) | {
        "charge": beta(rng, float(row["charge_low"]), float(row["charge_high"])),
        "starter_charge": beta(rng, float(row["starter_low"]), float(row["starter_high"])),
        "amounts": [beta(rng, float(c["low"]), float(c["high"]), float(c["low"]) > 0) for c in CHANGES],
    }
    meter = float(np.clip(rng.normal(0, 0.003), -0.006, 0.006))
    return Case(v, cause, broken(truth, v, cause.split("+")), meter, rng)


def broken(truth: dict, v: Vehicle, parts: list[str]) -> dict:
    """Return a vehicle with its faults in it, ready to be solved."""
    t = dict(truth, well=truth)
    for change, amount in zip(CHANGES, truth["amounts"], strict=True):
        if change["cause"] in parts:
            key = change["attribute"]
            t[key] = t[key] * amount if change["how"] == "times" else t[key] + amount
    settle(t, v, t["charge"], t["starter_charge"])
    return t


def repaired(c: Case, left: str = "nothing") -> Case:
    """Return the same vehicle with nothing wrong, or with one of two faults left."""
    return Case(c.set_up, left, broken(c.truth["well"], c.set_up, [left]), 0.0, c.rng)


def tellable(c: Case) -> bool:
    """Return whether any reading could tell: whether somewhere the fault moves it by three times its drift and digits.

    A flat battery changes nothing in the circuit, and is told by its charge. Of two faults each must leave its mark.
    """
    if c.cause in ("nothing", "flat"):
        return True
    parts = c.cause.split("+")
    return all(marked(c, repaired(c, other)) for other in (parts[::-1] if len(parts) > 1 else ["nothing"]))


def marked(c: Case, other: Case) -> bool:
    """Return whether any reading differs between two vehicles by more than drift and digits explain."""
    return any(abs(c.exact(*r) - other.exact(*r)) > least_mark(*r) for r in places_in(c.set_up))


def least_mark(place: str, state: str) -> float:
    """Return three times what drift and digits may come to, and a tenth of a volt at least [V], [A]."""
    if place.endswith("-drain"):
        return 0.03
    return 0.4 if state == "cranking" else 0.1


def well(rng: np.random.Generator, v: Vehicle) -> dict:
    """Return a vehicle that is well."""

    def spread(key: str) -> float:
        return tri(rng, *SPREADS[key])

    def battery(chemistry: str, capacity: float) -> float:
        low, usual, high = RESISTANCES[chemistry]
        return float(np.exp(rng.triangular(np.log(low), np.log(usual), np.log(high)))) * 100 / capacity

    capacity = tri(rng, *v.capacity)
    t = {
        "second_resistance": battery(v.chemistry, capacity),
        "starter_resistance": battery(v.starter_chemistry, tri(rng, *v.starter_capacity)),
        "second_curve": spread("curve"), "starter_curve": spread("curve"),
        "surface": spread("surface"), "second_sag": spread("sag"), "usual_draw": capacity / 20,
        "holds": tri(rng, *v.set_point), "output": tri(rng, *v.output), "inside": spread("alternator_inside"),
        "base_load": spread("base_load"), "lamps": spread("lamps"), "rests": spread("smart_rests"),
        "rises": rng.random() < SPREADS["smart_rises"][1], "motor": spread("starter_motor"),
        "front_joint": spread("front_joint"), "rear_joint": spread("rear_joint"),
        "front_cable": tri(rng, *v.front_cable), "rear_cable": tri(rng, *v.rear_cable),
        "link_contact": spread("wire_contact" if v.link == "none" else f"{v.link}_contact"),
        "engine_earth": spread("engine_earth"), "alternator_cable": spread("alternator_cable"),
        "load": tri(rng, *v.load), "quiet": spread("left_alone"), "starter_drain": spread("starter_alone"),
        "connects_at": tri(rng, *v.connects_at),
        "rating": tri(rng, *v.rating), "profile": tri(rng, *v.profile), "lockout": spread("lockout"),
        "wakes": spread("wakes"), "efficiency": spread("efficiency"), "off": spread("lfp_off"),
    }  # fmt: skip
    t["earth"] = spread("body_return") if v.return_path == "body" else t["front_cable"] + t["rear_cable"]
    t["load_plus"] = spread("load_drop") / t["load"]
    t["load_minus"] = spread("load_drop") / t["load"]
    t["wired"] = {"yes": True, "no": False}.get(v.ignition, rng.random() < SPREADS["ignition_wired"][1])
    for change in CHANGES:
        t.setdefault(change["attribute"], 0.0)
    return t


def settle(t: dict, v: Vehicle, charge: float, starter_charge: float) -> None:
    """Work out what follows from charge and cause."""
    t["E"] = rest(v.chemistry, charge) + t["second_curve"] - t["second_lost"]
    t["Es"] = rest(v.starter_chemistry, starter_charge) + t["starter_curve"]
    t["take"], t["starter_take"] = (
        taking(t["second_resistance"], charge),
        taking(t["starter_resistance"], starter_charge),
    )
    t["wired"] = bool(t["wired"] or t["ignition_missing"])
    if t["second_cut_off"]:
        t["E"], t["second_resistance"], t["take"] = t["off"], 1e3, 1e3
    if t["overload"]:
        supply = t["rating"] if v.link == "charger" else max(20.0, t["output"] - t["base_load"])
        grown = max(1.0, t["overload"] * supply / t["load"])
        t["load"] *= grown
        t["load_plus"] /= grown
        t["load_minus"] /= grown
    always = v.link == "wire" or t["link_stuck"]
    if always and not (t["front_open"] or t["rear_open"] or t["second_lost"] or t["second_cut_off"]):
        middle, apart = (t["E"] + t["Es"]) / 2, t["E"] - t["Es"]
        t["E"], t["Es"] = middle + 0.05 * apart, middle - 0.05 * apart


class Circuit:
    """The circuit in one state, with its modes."""

    def __init__(self, t: dict, v: Vehicle, state: str, between: tuple[str, str] | None):
        self.t, self.v, self.state, self.between = t, v, state, between
        self.engine = state in ("running", "running-load", "lights")
        on = state in ("load-on", "running-load")
        dead = t["second_cut_off"]
        self.load = t["load"] if on and not (t["load_open"] or dead) else 0.0
        self.besides = 0.0 if dead else t["quiet"] + t["drain"] + (0.0 if on else t["left_on"])
        sags = on and not t["load_open"] and not dead
        self.e = t["E"] - (t["second_sag"] * min(1.0, t["load"] / t["usual_draw"]) if sags else 0.0)
        lamps = t["lamps"] if state == "lights" else 0.0
        self.holds = t["rests"] if t["smart_low"] and not (lamps and t["rises"]) else t["holds"] + t["overcharge"]
        self.limit = t["output"] if self.engine and not t["alternator_dead"] else 0.0
        self.vehicle = t["base_load"] + lamps if self.engine else t["starter_drain"]
        self.last = ("hold", "take", "take", "hold")

    def modes(self, charger: bool) -> list:
        """Every set of modes, the last that agreed first."""
        each = itertools.product(
            ("hold", "limit", "off") if self.limit else ("off",),
            ("take", "give", "rest"),
            ("take", "give", "rest"),
            ("hold", "limit", "off") if charger else ("off",),
        )
        return sorted(each, key=lambda modes: modes != self.last)

    def at(self, joined: bool, pulled: float = 0.0, rating: float | None = None) -> dict:
        """Return the voltages in the set of modes that agrees with itself; rating: of a charger that works."""
        best, least = None, np.inf
        for modes in self.modes(rating is not None):
            volts = self.linear(joined, pulled, rating, modes)
            off = self.disagreement(volts, rating, modes)
            if off < 1e-9:
                self.last = modes
                return volts
            if off < least:
                best, least = volts, off
        assert least < 1e-3, least
        return best

    def linear(self, joined: bool, pulled: float, rating: float | None, modes: tuple) -> dict:
        """Solve for one set of modes."""
        t, number = self.t, {name: n for n, name in enumerate(NODES)}
        g, i = np.eye(len(NODES)) * LEAK, np.zeros(len(NODES))

        def resist(a, b, siemens):
            for x, y in ((a, b), (b, a)):
                if x != "0":
                    g[number[x], number[x]] += siemens
                    if y != "0":
                        g[number[x], number[y]] -= siemens

        def drive(plus, minus, amperes):
            for x, sign in ((plus, 1), (minus, -1)):
                if x != "0":
                    i[number[x]] += sign * amperes

        def source(plus, minus, volts, ohm):
            resist(plus, minus, 1 / ohm)
            drive(plus, minus, volts / ohm)

        alternator, starter, second, charger = modes
        resist("A-", "0", 1 / t["engine_earth"])
        resist("A+", "S", 1 / t["alternator_cable"])
        if not t["front_open"]:
            resist("S", "F", 1 / t["front_joint"])
        resist("F", "LI", 1 / t["front_cable"])
        resist("LO", "R", 1 / t["rear_cable"])
        if not t["rear_open"]:
            resist("R", "B", 1 / t["rear_joint"])
        resist("B-", "0", 1 / t["earth"])
        if t["load_open"]:
            resist("D+", "D-", 0.1)
        else:
            resist("B", "D+", 1 / t["load_plus"])
        resist("D-", "B-", 1 / t["load_minus"])
        if joined:
            resist("LI", "LO", 1 / t["link_contact"])
        if self.v.link in ("relay", "charger"):
            resist("LI", "0", BLEED)
        if self.between:
            resist(*self.between, METER)
        drive("D-", "D+", self.load)
        drive("B-", "B", self.besides)
        drive("0", "S", self.vehicle)
        drive("0", "LI", pulled)
        if alternator == "hold":
            source("A+", "A-", self.holds, t["inside"])
        elif alternator == "limit":
            drive("A+", "A-", self.limit)
        if starter != "rest":
            take = starter == "take"
            source("S", "0", t["Es"] + t["surface"] * take, t["starter_take" if take else "starter_resistance"])
        if second != "rest":
            take = second == "take"
            source("B", "B-", self.e + t["surface"] * take, t["take" if take else "second_resistance"])
        if self.state == "cranking":
            resist("S", "A-", 1 / t["motor"])
        if charger == "hold":
            source("LO", "0", t["profile"], 1 / STIFF)
        elif charger == "limit":
            drive("LO", "0", rating)
        elif self.v.link == "charger":
            resist("LO", "0", BLEED)
        return {"0": 0.0} | dict(zip(NODES, np.linalg.solve(g, i), strict=True))

    def disagreement(self, volts: dict, rating: float | None, modes: tuple) -> float:
        """Return by how much a solution contradicts its own modes [V]."""
        t, (alternator, starter, second, charger) = self.t, modes
        across = volts["A+"] - volts["A-"]
        off = [0.0]
        if self.limit:
            ends = self.holds - self.limit * t["inside"], self.holds
            off.append({"off": ends[1] - across, "limit": across - ends[0]}.get(alternator, 0.0))
            if alternator == "hold":
                off += [ends[0] - across, across - ends[1]]
        for mode, u, e in ((starter, volts["S"], t["Es"]), (second, volts["B"] - volts["B-"], self.e)):
            high = e + t["surface"]
            off += {"take": [high - u], "give": [u - e], "rest": [e - u, u - high]}[mode]
        if rating is not None:
            given = (t["profile"] - volts["LO"]) * STIFF
            if charger == "hold":
                off += [(given - rating) / STIFF, -given / STIFF]
            else:
                off.append(volts["LO"] - t["profile"] if charger == "limit" else t["profile"] - volts["LO"])
        return max(off)


def conducts(c: Circuit) -> bool:
    """Return whether a wire, switch or relay joins the batteries."""
    t, link = c.t, c.v.link
    if link == "wire" or t["link_stuck"]:
        return True
    if link not in ("switch", "relay") or t["link_open"] or not c.engine:
        return False
    if link == "switch":
        return True
    return c.at(False)["LI"] >= t["connects_at"]


def with_charger(c: Circuit) -> dict | None:
    """Return the voltages with a charger at work, or None where it does not work."""
    t = c.t
    alone = c.at(False)["LI"]
    if not c.engine or t["charger_dead"] or t["ignition_missing"] or alone < t["lockout"]:
        return None
    if not t["wired"] and alone < t["wakes"]:
        return None

    def at(rating: float) -> dict:
        pulled = 0.0
        for _ in range(30):
            volts = c.at(False, pulled, rating)
            given = rating if c.last[3] == "limit" else max(0.0, (t["profile"] - volts["LO"]) * STIFF)
            given = 0.0 if c.last[3] == "off" else given
            wanted = given * volts["LO"] / t["efficiency"] / max(volts["LI"], 5.0)
            if abs(wanted - pulled) < 1e-6:
                break
            pulled = wanted
        return volts

    volts = at(t["rating"])
    if volts["LI"] >= t["lockout"]:
        return volts
    low, high = 1e-3, t["rating"]
    for _ in range(22):
        middle = (low + high) / 2
        low, high = (middle, high) if at(middle)["LI"] >= t["lockout"] else (low, middle)
    return at(low)


def solve(t: dict, v: Vehicle, state: str, between: tuple[str, str] | None) -> dict:
    """Return the voltages of a state with a meter between two points, and what it shows elsewhere than in volts."""
    c = Circuit(t, v, state, between)
    volts = (with_charger(c) if v.link == "charger" else None) or c.at(conducts(c))
    second = (volts["B"] - volts["B-"]) - c.e
    gives = -second / t["second_resistance"] if second < 0 else -max(0.0, second - t["surface"]) / t["take"]
    first = volts["S"] - t["Es"]
    starter = -first / t["starter_resistance"] if first < 0 else -max(0.0, first - t["surface"]) / t["starter_take"]
    signal = volts["S"] if c.engine and t["wired"] and not t["ignition_missing"] else 0.0
    return volts | {"second-drain": gives, "starter-drain": starter, "ignition": signal}
