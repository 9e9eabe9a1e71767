"""Vehicles and trips that tests and benchmarks share: one vehicle, its batteries joined in five ways, on one week."""

from __future__ import annotations

from calc.physics import charger, sun
from calc.physics.alternator import alternator
from calc.physics.battery import Battery
from calc.physics.fridge import fridge
from calc.physics.loads import Load, inverter, steady, timed
from calc.physics.starting import Starter
from calc.physics.trip import Consumer, Leg, Link, Vehicle

WAYS = ("none", "wire", "switch", "relay", "charger")

DELAY = 10 / 3600
"""Of a relay [h]."""

WEEK = (
    Leg("drive", 3),
    Leg("camp", 21),
    Leg("drive", 2, eighths=0),
    Leg("camp", 46, eighths=0, coldest=12, hottest=28),
    Leg("drive", 4, eighths=8),
    Leg("camp", 20, eighths=8, coldest=6, hottest=14),
    Leg("drive", 1),
    Leg("plugged", 23),
    Leg("drive", 3),
    Leg("camp", 45),
)
"""168 hours."""


def loads() -> tuple[Consumer, ...]:
    """Return five loads of the second battery, and one of the starter battery."""
    return (
        Consumer("Fridge", fridge(48, 0.4, 25, "medium"), resistance=0.03),
        Consumer("Lights", timed(1.5, 4, 19)),
        Consumer("Phones", Load(0.0, 24, 20, 3)),
        Consumer("Kettle", inverter(500, 6, 7.5)),
        Consumer("Tracker", steady(0.1)),
        Consumer("Alarm", steady(0.03), at="starter"),
    )


def link(way: str, profile: charger.Profile, ignition: bool = True, resistance: float = 0.015, **more) -> Link:
    """Return what joins the batteries."""
    if way == "relay":
        return Link("relay", resistance, connect_delay=DELAY, disconnect_delay=DELAY, **more)
    if way == "charger":
        return Link("charger", resistance, charger=charger.from_starter(25, 32, ignition, 0, 0.9, profile), **more)
    return Link(way, resistance, **more)


def vehicle(way: str, chemistry: str = "agm", kind: str = "fixed", ignition: bool = True, **changes) -> Vehicle:
    """Return a vehicle with a second battery of 100 Ah, a panel of 160 W and a mains charger."""
    starter, second = Battery("calcium", 70, age=4), Battery(chemistry, 100, age=3)
    profile = charger.profile(chemistry, 100, False)
    parts = {
        "engine": Starter(starter, "diesel"),
        "alternator": alternator(kind, 14.2, 90, 30),
        "consumers": loads(),
        "panels": (sun.Panel(160, 0, 0.1, 0.95),),
        "solar": charger.Charger(15, profile),
        "mains": charger.Charger(10, profile),
    }
    return Vehicle(starter, second, link(way, profile, ignition), **(parts | changes))
