"""Networks at random, the same for the same seed: for properties, for a comparison with ngspice, and for timing."""

from __future__ import annotations

import random

from calc.physics import cable
from calc.physics.cable_sizes import CableSize
from calc.physics.network import Cable, CurrentLoad, Element, PowerLoad, Resistance, Source, most_power, solve

DECADES = (-3, 2)
"""Resistances lie between these powers of ten [ohm]."""


def ohms(rng: random.Random) -> float:
    """Return a resistance, every decade alike."""
    return 10 ** rng.uniform(*DECADES)


def cable_run(name: str, a: str, b: str, size: CableSize, length: float, insulation: float, ambient: float) -> Cable:
    """Return one conductor of a size as a part of a network, warmed by its own current."""
    resistance = cable.length_resistance(size.resistance_per_km, length, 20)
    allowed, rating = cable.table_current(size.copper, insulation), cable.rating_column(insulation)
    return Cable(name, a, b, resistance, ambient, allowed, rating)


def grid(rng: random.Random, nodes: int, sources: int, loads: int) -> list[Element]:
    """Return a connected network of resistances, sources with internal resistance, and constant-current loads."""
    names = ["0", *(f"n{k}" for k in range(1, nodes))]
    parts: list[Element] = [
        Resistance(f"r{k}", names[k], names[rng.randrange(max(0, k - 4), k)], ohms(rng)) for k in range(1, nodes)
    ]
    for k in range(nodes // 2):
        one, other = rng.sample(names, 2)
        parts.append(Resistance(f"x{k}", one, other, ohms(rng)))
    for k in range(sources):
        plus = f"n{rng.randrange(1, nodes)}"
        minus = rng.choice([n for n in names if n != plus]) if rng.random() < 0.25 else "0"
        parts.append(Source(f"s{k}", plus, minus, rng.uniform(10, 15), 10 ** rng.uniform(-3, -1)))
    for k in range(loads):
        parts.append(CurrentLoad(f"i{k}", f"n{rng.randrange(1, nodes)}", "0", rng.uniform(-0.2, 1.0)))
    return parts


def with_power(
    rng: random.Random, parts: list[Element], loads: int, shares: tuple[float, float], across: bool = False
) -> list[Element]:
    """Return the network with power loads added one by one, each a share of the most that could be drawn there.

    They stand where there is more than 1 V without them, against ground; with `across`, some between two other nodes.
    """
    volts = solve(parts).voltages
    pairs = [(plus, "0") for plus in volts if volts[plus] > 1]
    if across:
        pairs = 3 * pairs + [(plus, minus) for plus in volts for minus in volts if volts[plus] > volts[minus] + 1]
    for k in range(loads):
        plus, minus = rng.choice(pairs)
        share = rng.uniform(*shares) if k == loads - 1 else rng.uniform(0.1, 0.6)
        most = most_power([*parts, PowerLoad(f"p{k}", plus, minus, 0.0)], f"p{k}").power
        parts = [*parts, PowerLoad(f"p{k}", plus, minus, share * most)]
    return parts
