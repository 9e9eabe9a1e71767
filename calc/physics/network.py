"""A small d.c. network: the voltage at every point and the current in every part.

The method is modified nodal analysis (Ho, Ruehli and Brennan 1975, from memory): Kirchhoff's laws as one set of linear
equations, solved by elimination with partial pivoting. Whatever bends the straight lines (loads that draw a power,
limits of current) is taken out first. The rest answers to the currents at those few places in straight lines, so that
the bends are settled there, exactly, and the large set of equations is solved once.

A load of constant power has two operating points, or none. The one with the higher voltage is what a network reaches
as its loads are turned up from nothing, and is the one returned. Newton's method started from the voltages without
load falls on it from above and never passes it where each load pulls the others down, as all loads between one supply
and ground do (Ortega and Rheinboldt's monotone theorem, from memory): there, to find none is to know that there is
none. For loads in series, for a load that lives on the drop which another makes, and beside sources of constant power
it is the point reached as the loads are turned up together; there may be another that is reached in another order.
Where a one-way source still gives nothing as the voltages fall away, it is looked for whether it catches them, in
steps of powers down to a thousandth: the most that can be drawn then is known to a thousandth.

Range: resistances of 0, or from a microohm to a megohm; a point that hangs on a megohm alone, beside parts of a few
milliohms, is good to six figures, all else to ten and more. A steady state: no time, no inductance, no capacity.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from calc.physics import cable

GROUND = "0"
"""The node that voltages are counted from, unless another is named [-]."""

LARGEST = 1e6
"""Largest voltage, current or power of one part; beyond, an input is a slip [V], [A], [W]."""

LARGEST_RESISTANCE = 1e9
"""Largest resistance of one part; what conducts less is left out [ohm]."""

IDEAL = 1e-9
"""A resistance below this counts as none [ohm]."""

BRANCH = 1e-3
"""Below this a part's current is an unknown of its own, as a difference of two voltages would lose figures [ohm]."""

HOTTEST = 300.0
"""Up to here copper's straight line is used; a cable that would get hotter is held here and named [degC]."""

BALANCE = 1e-9
"""Energy balances when what is left over is at most this share of what flows [-]."""

FAINT = 1e-9
"""No load of constant power works at a voltage as low as this [V]."""

LEAK = 1e-12
"""Conductance past a source at its limit while states are sought, so that a current with nowhere to go shows as a
voltage out of bounds [S]."""

STRIDE = 0.25
"""Share of its voltage that a load may lose in one step where the way to the operating point has to be followed [-]."""

ROUNDS = 60
"""Changes of state or steps of Newton's method after which there is no answer in sight [-]."""

SLACK = 1e-12
"""Rounding allowed at an edge: a limit just reached, a load just at its most [-]."""


class NoSolution(ValueError):
    """The network has no operating point."""


class TooMuchPower(NoSolution):
    """The loads of constant power ask for more than the network can bring.

    Attributes
    ----------
    load : the one whose voltage sinks furthest as all are turned up together [-]
    asked : what it asks at its terminals [W]
    most : what it can draw there, all loads of constant power being cut by the same share [W]
    voltage : at its terminals at that power, the point of collapse [V]
    share : of what is asked that the network can bring, below 1 [-]
    """

    def __init__(self, load: str, asked: float, most: float, voltage: float, share: float):
        super().__init__(f"{load} asks for {asked:g} W; at most {most:g} W can be drawn there, at {voltage:g} V")
        self.load, self.asked, self.most, self.voltage, self.share = load, asked, most, voltage, share


class TooMuchCurrent(NoSolution):
    """Loads of constant current ask for more than the limits of all sources allow.

    Attributes
    ----------
    sources : those at their limit [-]
    """

    def __init__(self, sources: tuple[str, ...]):
        super().__init__(f"more current is asked for than the limit of {', '.join(sources)} allows")
        self.sources = sources


class FloatingNodes(ValueError):
    """Points that nothing ties to ground, so that their voltage could be anything.

    Attributes
    ----------
    nodes : their names, sorted [-]
    """

    def __init__(self, nodes: tuple[str, ...]):
        super().__init__(f"nothing ties these to ground: {', '.join(nodes)}")
        self.nodes = nodes


@dataclass(frozen=True)
class Resistance:
    """A part with a fixed resistance: a joint, a fuse, the body, a lamp. Its current counts from a to b.

    Attributes
    ----------
    name : unlike any other in the network [-]
    a, b : the nodes that it joins [-]
    resistance : 0 or more [ohm]
    """

    name: str
    a: str
    b: str
    resistance: float

    def __post_init__(self):
        _refuse(self, self.a, self.b, resistance=(0, LARGEST_RESISTANCE))


@dataclass(frozen=True)
class Cable:
    """One copper conductor, whose resistance follows its own heat. Its current counts from a to b.

    Attributes
    ----------
    name : unlike any other in the network [-]
    a, b : the nodes that it joins [-]
    resistance_20 : at 20 °C [ohm]
    ambient : air around it, −60 to 300 [degC]
    base_current : that Table 5 allows at 30 °C; left out, the cable stays as warm as the air [A]
    insulation : rating of the table's column for that current [degC]
    """

    name: str
    a: str
    b: str
    resistance_20: float
    ambient: float = 20.0
    base_current: float | None = None
    insulation: float = 60.0

    def __post_init__(self):
        _refuse(self, self.a, self.b, resistance_20=(0, LARGEST_RESISTANCE), ambient=(-60, HOTTEST))
        if self.base_current is not None:
            _refuse(self, self.a, self.b, base_current=(1e-3, LARGEST), insulation=(cable.RATINGS[0], HOTTEST))


@dataclass(frozen=True)
class Switch:
    """A switch, a relay's contact or a fuse that may have opened. Its current counts from a to b.

    Attributes
    ----------
    name : unlike any other in the network [-]
    a, b : the nodes that it joins [-]
    closed : whether it conducts [-]
    resistance : when closed, 0 or more [ohm]
    """

    name: str
    a: str
    b: str
    closed: bool
    resistance: float = 0.0

    def __post_init__(self):
        _refuse(self, self.a, self.b, resistance=(0, LARGEST_RESISTANCE))


@dataclass(frozen=True)
class Source:
    """A voltage behind a resistance: a battery, an alternator. Its current counts out of its plus.

    Attributes
    ----------
    name : unlike any other in the network [-]
    plus, minus : its nodes [-]
    voltage : at no current [V]
    resistance : inside, 0 or more [ohm]
    limit : the most current that it gives; there it goes on as a source of that current; left out, no limit [A]
    one_way : whether it takes no current in, as an alternator's rectifier takes none [-]
    """

    name: str
    plus: str
    minus: str
    voltage: float
    resistance: float
    limit: float | None = None
    one_way: bool = False

    def __post_init__(self):
        _refuse(self, self.plus, self.minus, voltage=(-LARGEST, LARGEST), resistance=(0, LARGEST_RESISTANCE))
        if self.limit is not None:
            _refuse(self, self.plus, self.minus, limit=(1e-6, LARGEST))


@dataclass(frozen=True)
class CurrentLoad:
    """A load that draws one current at any voltage. Its current counts into its plus.

    Attributes
    ----------
    name : unlike any other in the network [-]
    plus, minus : its nodes [-]
    current : drawn; below 0 it is given, as by a charger [A]
    """

    name: str
    plus: str
    minus: str
    current: float

    def __post_init__(self):
        _refuse(self, self.plus, self.minus, current=(-LARGEST, LARGEST))


@dataclass(frozen=True)
class PowerLoad:
    """A load that draws one power at any voltage: a converter, an inverter, many fridges. Current into its plus.

    At its terminals it draws power / efficiency + idle, unless that takes more current than its limit; then it draws
    the limit, and gives less. A limit that would be reached only once the voltage has collapsed saves nothing.

    Attributes
    ----------
    name : unlike any other in the network [-]
    plus, minus : its nodes [-]
    power : that it puts to use or hands on; below 0 it is given, as by a solar controller [W]
    efficiency : 0.01 to 1 [-]
    idle : what it draws for itself, 0 or more [W]
    limit : the most current that it draws; left out, no limit [A]
    """

    name: str
    plus: str
    minus: str
    power: float
    efficiency: float = 1.0
    idle: float = 0.0
    limit: float | None = None

    def __post_init__(self):
        ends = self.plus, self.minus
        _refuse(self, *ends, power=(-LARGEST, LARGEST), efficiency=(0.01, 1), idle=(0, LARGEST))
        if self.limit is not None:
            _refuse(self, *ends, limit=(1e-6, LARGEST))
        if self.power < 0 and self.efficiency != 1:
            raise ValueError(f"{self.name}: power={self.power} W is given, and takes no efficiency")

    @property
    def input_power(self) -> float:
        """What it asks for at its terminals [W]."""
        return self.power / self.efficiency + self.idle


Element = Resistance | Cable | Switch | Source | CurrentLoad | PowerLoad
"""Whatever may stand in a network."""


def _refuse(element, *ends: str, **ranges: tuple[float, float]) -> None:
    """Raise ValueError where an element cannot be."""
    if not all(isinstance(text, str) and text for text in (element.name, *ends)):
        raise ValueError(f"name={element.name!r} and its nodes {ends!r} must be texts that are not empty")
    if ends[0] == ends[1]:
        raise ValueError(f"{element.name}: both ends are at {ends[0]}")
    for key, (low, high) in ranges.items():
        value = getattr(element, key)
        if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
            raise ValueError(f"{element.name}: {key}={value!r} must be a number from {low:g} to {high:g}")


@dataclass(frozen=True)
class Solution:
    """An operating point.

    Attributes
    ----------
    voltages : of every node, against ground [V]
    currents : of every element, in the direction that it counts [A]
    powers : into every element at its terminals; below 0 it gives [W]
    temperatures : of the copper of every cable [degC]
    states : of every source "holds", "limited" or "blocked"; of every power load "full" or "limited" [-]
    useful : what every power load puts to use or hands on [W]
    losses : heat in every resistance, cable, switch, and inside every source and power load [W]
    overheated : cables that would be hotter than 300 °C and are counted at 300 °C [-]
    """

    voltages: dict[str, float]
    currents: dict[str, float]
    powers: dict[str, float]
    temperatures: dict[str, float]
    states: dict[str, str]
    useful: dict[str, float]
    losses: dict[str, float]
    overheated: tuple[str, ...]

    def between(self, plus: str, minus: str) -> float:
        """Return what a meter reads between two nodes [V]."""
        return self.voltages[plus] - self.voltages[minus]

    @property
    def loss(self) -> float:
        """All heat that does nothing useful [W]."""
        return math.fsum(self.losses.values())

    @property
    def imbalance(self) -> float:
        """What is left over of all powers, as a share of what flows [-]."""
        flowing = math.fsum(map(abs, self.powers.values())) / 2
        return abs(math.fsum(self.powers.values())) / flowing if flowing > 1e-12 else 0.0

    @property
    def balances(self) -> bool:
        """Whether energy balances to 1e-9 of what flows."""
        return self.imbalance <= BALANCE


@dataclass(frozen=True)
class MostPower:
    """The most that a load could draw where it stands.

    Attributes
    ----------
    power : at its terminals; 1e6 W stands for no bound [W]
    voltage : at its terminals then [V]
    current : into its plus then [A]
    """

    power: float
    voltage: float
    current: float


def solve(elements: Iterable[Element], ground: str = GROUND) -> Solution:
    """Return the operating point of a network.

    Sources at their limits of current, one-way sources that take nothing, power loads at their limit, and cables as
    warm as their own current makes them are found so that all agree.

    Parameters
    ----------
    elements : of the network, each with a name of its own [-]
    ground : the node that voltages are counted from [-]

    Returns
    -------
    solution : voltages, currents, powers and losses [V], [A], [W]

    Raises
    ------
    FloatingNodes
        where nothing ties a node to ground; loads do not tie.
    TooMuchPower, TooMuchCurrent
        where there is no operating point.
    ValueError
        where names repeat, ground is missing, or parts without resistance make a loop.

    Examples
    --------
    A battery, 6 m of cable there and back, and a charger that draws 300 W:

    >>> run = [
    ...     Source("battery", "post", "0", 12.6, 0.010),
    ...     Resistance("out", "post", "charger", 0.007),
    ...     Resistance("back", "earth", "0", 0.007),
    ...     PowerLoad("charger", "charger", "earth", 300),
    ... ]
    >>> point = solve(run)
    >>> round(point.currents["charger"], 3), round(point.between("charger", "earth"), 3)
    (25.0, 12.0)
    >>> round(point.loss, 1), point.balances
    (15.0, True)
    """
    circuit = _Circuit(elements, ground)
    asked = [port.input_power if isinstance(port, PowerLoad) else 0.0 for port in circuit.ports]

    def answer(linear: _Linear) -> _Point:
        return linear.all_of(asked)

    return circuit.solution(*circuit.heated(answer))


def most_power(elements: Iterable[Element], load: str, ground: str = GROUND) -> MostPower:
    """Return the most that a power load could draw where it stands, while all others draw what they ask.

    For a load alone at the end of a run: U²/4R, at half the voltage without load. Where cables warm up, they are as
    warm as that current makes them.

    Parameters
    ----------
    elements : of the network [-]
    load : name of one of its power loads; what it asks does not matter [-]
    ground : the node that voltages are counted from [-]

    Returns
    -------
    most : power, voltage and current at its terminals [W], [V], [A]

    Raises
    ------
    TooMuchPower, TooMuchCurrent
        where the others have no operating point even without it.
    KeyError
        where there is no power load of that name.

    Examples
    --------
    >>> most_power([Source("battery", "post", "0", 12.0, 0.02), PowerLoad("inverter", "post", "0", 500)], "inverter")
    MostPower(power=1800.0, voltage=6.0, current=300.0)
    """
    circuit = _Circuit(elements, ground)
    place = next((p for p, e in enumerate(circuit.ports) if isinstance(e, PowerLoad) and e.name == load), None)
    if place is None:
        raise KeyError(f"no power load {load!r} in the network")
    others = [port.input_power if isinstance(port, PowerLoad) else 0.0 for port in circuit.ports]
    others[place] = 0.0
    found: list[MostPower] = []

    def answer(linear: _Linear) -> _Point:
        bound = linear.bound(place)
        while True:
            asked = [bound if p == place else watts for p, watts in enumerate(others)]
            _, point, share = linear.climb(others, asked)
            if share < 1 or point.fixed[place] is not None or bound >= LARGEST:
                break
            bound = min(LARGEST, 4 * bound)
        voltage, power = point.outputs[place], point.outputs[place] * point.inputs[place]
        if share < 1:
            _, voltage, power = linear.fold(point, others, asked, share, place)
        found[:] = [MostPower(power, voltage, power / voltage if power else 0.0)]
        return point

    circuit.heated(answer)
    return found[0]


def _eliminate(rows: list[list[float]], size: int) -> list[list[float]] | None:
    """Solve for every column right of the square; rows are used up. None where a pivot is nought."""
    for c in range(size):
        best, p = abs(rows[c][c]), c
        for r in range(c + 1, size):
            if (candidate := abs(rows[r][c])) > best:
                best, p = candidate, r
        if best == 0:
            return None
        rows[c], rows[p] = rows[p], rows[c]
        head = rows[c]
        pivot, tail = head[c], head[c + 1 :]
        for r in range(c + 1, size):
            row = rows[r]
            if factor := row[c]:
                factor /= pivot
                row[c + 1 :] = [x - factor * y for x, y in zip(row[c + 1 :], tail, strict=True)]
    found: list[list[float]] = [[]] * size
    for r in range(size - 1, -1, -1):
        row = rows[r]
        values = row[size:]
        for c in range(r + 1, size):
            if factor := row[c]:
                values = [v - factor * x for v, x in zip(values, found[c], strict=True)]
        pivot = row[r]
        found[r] = [v / pivot for v in values]
    return found


def _positive(rows: list[list[float]]) -> bool:
    """Return whether every pivot of a square is above 0 without exchanging rows; rows are used up."""
    for c, head in enumerate(rows):
        if head[c] <= 0:
            return False
        for row in rows[c + 1 :]:
            factor = row[c] / head[c]
            for k in range(c + 1, len(rows)):
                row[k] -= factor * head[k]
    return True


def _slopes(z: list[list[float]], u: list[float], p: list[float]) -> list[list[float]]:
    """Return how U + Z·(P/U) changes with U."""
    n = range(len(u))
    return [[(r == c) - z[r][c] * p[c] / (u[c] * u[c]) for c in n] for r in n]


def _high_branch(u0: list[float], z: list[list[float]], p: list[float], near: list[float] | None) -> list[float] | None:
    """Return the upper solution of U = U0 − Z·(P/U), or None where there is none.

    Where a load does not pull every other down there may be more solutions that hold; then the one that `near`
    leads to in a small step is asked for, and a larger step counts as none.
    """
    if len(p) == 1:
        inside = u0[0] * u0[0] - 4 * z[0][0] * p[0]
        if inside < -SLACK * u0[0] * u0[0]:
            return None
        u = (u0[0] + math.sqrt(max(0.0, inside))) / 2
        return [u] if u > FAINT else None
    if min(u0 if near is None else near) <= FAINT:
        return None
    n = range(len(p))
    monotone = min(p) >= 0 and all(value >= 0 for row in z for value in row)
    u, scale = u0 if monotone or near is None else near, max(u0)

    def reached(u: list[float]) -> bool:
        return monotone or near is None or all(abs(u[i] - near[i]) <= STRIDE * near[i] for i in n)

    for _ in range(ROUNDS):
        amperes = [p[i] / u[i] for i in n]
        left = [u[i] - u0[i] + sum(z[i][j] * amperes[j] for j in n) for i in n]
        slopes = _slopes(z, u, p)
        if not _positive([row[:] for row in slopes]):
            return None
        if max(map(abs, left)) <= 4e-16 * scale:
            return u if reached(u) else None
        step = [row[0] for row in _eliminate([[*slopes[i], left[i]] for i in n], len(p))]
        if max(abs(step[i] / u[i]) for i in n) <= 1e-15:
            return u if reached(u) else None
        for _ in range(1 if monotone else 20):
            new = [u[i] - step[i] for i in n]
            if min(new) > FAINT and (monotone or _positive(_slopes(z, new, p))):
                break
            step = [s / 2 for s in step]
        else:
            return None
        u = new
    return u if max(map(abs, left)) <= SLACK * scale and reached(u) else None


@dataclass(frozen=True)
class _Point:
    """How the ports stand: what goes in, what comes out, and which are fixed at a limit (None: free).

    A port is a source with a limit (in: volts held back; out: its current) or a power load (in: its current; out: its
    voltage).
    """

    inputs: list[float]
    outputs: list[float]
    fixed: list[float | None]


class _Linear:
    """A network without its bends, as seen from its ports: outputs = rest + gain · inputs."""

    def __init__(self, ports: Sequence[Source | PowerLoad], columns: list[list[float]], rest: list[float], gain):
        self.ports, self.columns, self.rest, self.gain = ports, columns, rest, gain

    def bound(self, place: int) -> float:
        """Return a little more than a load alone could draw: U²/4R; no bound where a one-way source may join in [W]."""
        if any(isinstance(port, Source) and port.one_way for port in self.ports):
            return LARGEST
        u, r = self.rest[place], -self.gain[place][place]
        return min(LARGEST, max(1.0, 1.001 * u * u / (4 * r))) if r > IDEAL else LARGEST

    def reduced(self, powers: list[float], fixed: list[float | None], leak: float = LEAK):
        """Return the loads that draw a power, their U0 and Z, and what the fixed ports take in and add for each."""
        ports, gain = self.ports, self.gain
        count = range(len(ports))
        held = [p for p in count if fixed[p] is not None and isinstance(ports[p], Source)]
        full = [p for p in count if fixed[p] is not None and isinstance(ports[p], PowerLoad)]
        free = [p for p in count if fixed[p] is None and powers[p]]
        level = [self.rest[q] + sum(gain[q][p] * fixed[p] for p in full) for q in count]
        rows = [
            [gain[a][b] - leak * (a == b) for b in held] + [fixed[a] - level[a]] + [-gain[a][d] for d in free]
            for a in held
        ]
        back = _eliminate(rows, len(held))
        u0 = [level[d] + sum(gain[d][a] * back[k][0] for k, a in enumerate(held)) for d in free]
        z = [
            [-gain[d][e] - sum(gain[d][a] * back[k][1 + m] for k, a in enumerate(held)) for m, e in enumerate(free)]
            for d in free
        ]
        return held, full, free, back, u0, z

    def at(
        self, powers: list[float], fixed: list[float | None], near: _Point | None, leak: float = LEAK
    ) -> _Point | None:
        """Return the point with these ports fixed, or None."""
        held, full, free, back, u0, z = self.reduced(powers, fixed, leak)
        start = [near.outputs[d] for d in free] if near else None
        u = _high_branch(u0, z, [powers[d] for d in free], start) if free else []
        if u is None:
            return None
        inputs = [0.0] * len(self.ports)
        for p in full:
            inputs[p] = fixed[p]
        for d, volts in zip(free, u, strict=True):
            inputs[d] = powers[d] / volts
        for a, row in zip(held, back, strict=True):
            inputs[a] = row[0] + sum(row[1 + m] * inputs[d] for m, d in enumerate(free))
        outputs = [r + sum(map(float.__mul__, g, inputs)) for r, g in zip(self.rest, self.gain, strict=True)]
        return None if any(outputs[p] <= 0 for p in full) else _Point(inputs, outputs, fixed)

    def wish(self, p: int, point: _Point, power: float) -> float | None:
        """Return what a port should be fixed at, by how it stands."""
        port, now = self.ports[p], point.fixed[p]
        limit = math.inf if port.limit is None else port.limit
        if isinstance(port, PowerLoad):
            if now is None:
                return limit if point.inputs[p] > limit * (1 + SLACK) else None
            return None if point.outputs[p] * limit > power * (1 + SLACK) else now
        volts, amperes = point.inputs[p], point.outputs[p]
        if now is None:
            if amperes > limit * (1 + SLACK):
                return limit
            return 0.0 if port.one_way and amperes < -SLACK else None
        wrong = volts > SLACK if now == 0 else volts < -SLACK
        return None if wrong else now

    def stranded(self, point: _Point) -> bool:
        """Return whether a source would need a voltage out of this world to pass the current that it is held at."""
        return any(isinstance(port, Source) and abs(point.inputs[p]) > LARGEST for p, port in enumerate(self.ports))

    def settle(self, powers: list[float], near: _Point | None) -> _Point | None:
        """Return the point at which every port agrees with its limit, or None.

        All that disagree change at once; should that go in circles, the first one alone, which cannot go in circles
        where each pulls the others down (Murty's rule, from memory).
        """
        fixed = list(near.fixed) if near else [None] * len(powers)
        seen: set[tuple] = set()
        one_by_one = False
        while point := self.at(powers, fixed, near):
            wishes = [self.wish(p, point, powers[p]) for p in range(len(fixed))]
            changed = [p for p in range(len(fixed)) if wishes[p] != fixed[p]]
            if not changed:
                if self.stranded(point):
                    return None
                held = any(point.inputs[p] for p, port in enumerate(self.ports) if isinstance(port, Source))
                return self.at(powers, fixed, near, 0.0) if held else point
            if tuple(fixed) in seen:
                if one_by_one:
                    return None
                one_by_one, seen = True, set()
            seen.add(tuple(fixed))
            fixed = list(fixed)
            for p in changed[:1] if one_by_one else changed:
                fixed[p] = wishes[p]
        return None

    def climb(self, start: list[float], end: list[float]) -> tuple[_Point, _Point, float]:
        """Return the points at the start and as far as the powers can be turned up, and that share of the way."""
        here = rest = self.all_of(start) if any(start) else self.settle(start, None)
        if rest is None:
            raise TooMuchCurrent(tuple(p.name for p in self.ports if isinstance(p, Source)))
        share, step, looked = 0.0, 1.0, False

        def powers(trial: float) -> list[float]:
            return [a + trial * (b - a) for a, b in zip(start, end, strict=True)]

        def at(trial: float) -> _Point | None:
            return self.settle(powers(trial), here)

        while share < 1:
            trial = min(1.0, share + step)
            if there := at(trial):
                if there.fixed != here.fixed:
                    step, looked = 1.0, False
                share, here = trial, there
                continue
            step /= 2
            if step < 1e-2 and share and not looked:  # near enough to see where the fold is, and that it is one
                looked = True
                ahead = self.folds_at(here, start, end, share)[0]
                below = at(ahead * (1 - 1e-11)) if share < ahead < trial else None
                if below and below.fixed == here.fixed and not at(ahead * (1 + 1e-11)):
                    share, here, step = ahead * (1 - 1e-11), below, 0.0
            if step < 1e-13:
                blocked = any(isinstance(e, Source) and now == 0 for e, now in zip(self.ports, here.fixed, strict=True))
                further = [
                    1.0,
                    *((4.0**k) * share for k in range(9, 0, -1)),
                    *((1 + 0.5**k) * share for k in range(11)),
                ]
                trials = [t for t in further if share < t <= 1] if blocked else []
                found = next(((t, there) for t in trials if (there := self.caught(powers(t), here))), None)
                if found is None:
                    break
                (share, here), step, looked = found, 1.0, False
        return rest, here, share

    def caught(self, powers: list[float], here: _Point) -> _Point | None:
        """Return where the voltages come to rest when the loads pull them down from here, or None where nothing does.

        What may catch them is a one-way source that has given nothing so far. Each round the loads draw what they ask
        for at the last voltages, so that these fall, and pass no point of rest.
        """
        loads = [p for p, port in enumerate(self.ports) if isinstance(port, PowerLoad)]
        none = [0.0] * len(self.ports)
        for _ in range(10 * ROUNDS):
            if any(here.outputs[p] <= FAINT for p in loads if powers[p]):
                return None
            amperes = list(none)
            for p in loads:
                if powers[p]:
                    amperes[p] = powers[p] / here.outputs[p] if here.fixed[p] is None else here.fixed[p]
            level = [r + sum(map(float.__mul__, g, amperes)) for r, g in zip(self.rest, self.gain, strict=True)]
            states = [None if p in loads else now for p, now in enumerate(here.fixed)]
            drawn = _Linear(self.ports, self.columns, level, self.gain)
            there = drawn.settle(none, _Point(none, level, states))
            if there is None:
                return None
            fixed = [here.fixed[p] if p in loads else now for p, now in enumerate(there.fixed)]
            changed = fixed != here.fixed
            here = _Point(amperes, there.outputs, fixed)
            if changed and (found := self.settle(powers, here)):
                return found
        return self.settle(powers, here)

    def all_of(self, powers: list[float]) -> _Point:
        """Return the point at which all these powers are drawn, or raise TooMuchPower.

        What is given comes first, and then the loads are turned up together.
        """
        given = [min(0.0, watts) for watts in powers]
        start = given if given != powers else [0.0] * len(powers)
        rest, point, share = self.climb(start, powers)
        if share < 1:
            turned = [p for p in range(len(powers)) if powers[p] != start[p]]
            p = min(turned, key=lambda p: point.outputs[p] / rest.outputs[p] if rest.outputs[p] > 0 else -math.inf)
            share, voltage, most = self.fold(point, start, powers, share, p)
            raise TooMuchPower(self.ports[p].name, powers[p], most, voltage, share)
        return point

    def fold(self, point: _Point, start: list[float], end: list[float], share: float, p: int):
        """Return the share at which the loads collapse, and a load's voltage and power there, from a point just before.

        Where one load draws, in closed form; else by Newton's method on the fold itself. Where a limit is what stops
        them there is no fold near, and the point itself is the answer.
        """
        t, voltages = self.folds_at(point, start, end, share)
        if p not in voltages:
            return share, point.outputs[p], point.outputs[p] * point.inputs[p]
        if abs(t - share) > 1e-9 * share:
            return share, point.outputs[p], start[p] + share * (end[p] - start[p])
        return t, voltages[p], start[p] + t * (end[p] - start[p])

    def folds_at(self, point: _Point, start: list[float], end: list[float], share: float) -> tuple[float, dict]:
        """Return the share at which the loads collapse if no limit stops them, and the voltages there, from near."""
        powers = [a + share * (b - a) for a, b in zip(start, end, strict=True)]
        _, _, free, _, u0, z = self.reduced(powers, point.fixed)
        first, way = [start[d] for d in free], [end[d] - start[d] for d in free]
        if not any(way):
            return math.inf, {}
        if len(free) == 1:
            u, t = [u0[0] / 2], (u0[0] * u0[0] / (4 * z[0][0]) - first[0]) / way[0] if z[0][0] > 0 else math.inf
        else:
            u, t = _polished(u0, z, first, way, [point.outputs[d] for d in free], share)
        return t, dict(zip(free, u, strict=True))


def _polished(u0, z, first, way, u, t) -> tuple[list[float], float]:
    """Return voltages and share at the fold of U = U0 − Z·(P/U), P = first + t·way, starting close to it."""
    n = len(u)
    every = range(n)
    lean, highest = [1.0] * n, 10 * max(u)
    for _ in range(4):  # towards the direction in which the voltages fall away
        slopes = _slopes(z, u, [first[i] + t * way[i] for i in every])
        found = _eliminate([[*slopes[i], lean[i]] for i in every], n)
        if found is None:
            break
        size = max(abs(row[0]) for row in found)
        lean = [row[0] / size for row in found]
    anchor = max(every, key=lambda i: abs(lean[i]))
    for _ in range(8):
        p = [first[i] + t * way[i] for i in every]
        slopes = _slopes(z, u, p)
        rows = []
        for i in every:
            left = u[i] - u0[i] + sum(z[i][j] * p[j] / u[j] for j in every)
            rows.append([*slopes[i], *[0.0] * n, sum(z[i][j] * way[j] / u[j] for j in every), -left])
        for i in every:
            bend = [2 * z[i][j] * p[j] * lean[j] / u[j] ** 3 for j in every]
            pull = -sum(z[i][j] * way[j] * lean[j] / u[j] ** 2 for j in every)
            rows.append([*bend, *slopes[i], pull, -sum(slopes[i][j] * lean[j] for j in every)])
        rows.append([*[0.0] * n, *[float(j == anchor) for j in every], 0.0, 1.0 - lean[anchor]])
        found = _eliminate(rows, 2 * n + 1)
        if found is None:
            break
        u = [u[i] + found[i][0] for i in every]
        lean = [lean[i] + found[n + i][0] for i in every]
        t += found[2 * n][0]
        if not (min(u) > FAINT and max(u) <= highest and 0 < t < 1 / SLACK):
            return u, math.inf  # it ran away: there is no fold near
    return u, t


class _Circuit:
    """A network whose names are indexed and whose shape is checked."""

    def __init__(self, elements: Iterable[Element], ground: str):
        self.elements = tuple(elements)
        self.ground = ground
        self.nodes: dict[str, int] = {}
        names: set[str] = set()
        self.ends: list[tuple[str, str]] = []
        for e in self.elements:
            if e.name in names:
                raise ValueError(f"two elements are named {e.name}")
            names.add(e.name)
            ends = (e.a, e.b) if isinstance(e, Resistance | Cable | Switch) else (e.plus, e.minus)
            self.ends.append(ends)
            for node in ends:
                if node != ground:
                    self.nodes.setdefault(node, len(self.nodes))
        if not any(ground in ends for ends in self.ends):
            raise ValueError(f"no element touches ground, {ground!r}")
        self.resistances = [_resistance(e) for e in self.elements]
        self.check_shape()
        self.ports = tuple(e for e in self.elements if _is_port(e))
        self.branches: dict[int, int] = {}
        for k, (e, ohms) in enumerate(zip(self.elements, self.resistances, strict=True)):
            if ohms is not None and (ohms < BRANCH or (isinstance(e, Source) and _is_port(e))):
                self.branches[k] = len(self.nodes) + len(self.branches)

    def check_shape(self) -> None:
        """Raise where nodes float or where parts without resistance make a loop."""
        for ideal in (True, False):
            leader = {node: node for node in (*self.nodes, self.ground)}

            def top(node: str, leader=leader) -> str:
                while leader[node] != node:
                    leader[node] = node = leader[leader[node]]
                return node

            for e, ohms, ends in zip(self.elements, self.resistances, self.ends, strict=True):
                if ohms is None or (ideal and ohms >= IDEAL):
                    continue
                one, other = top(ends[0]), top(ends[1])
                if one != other:
                    leader[one] = other
                elif ideal:
                    raise ValueError(f"{e.name} closes a loop without resistance, in which any current could flow")
        home = top(self.ground)
        if floating := sorted(node for node in self.nodes if top(node) != home):
            raise FloatingNodes(tuple(floating))

    def linear(self, resistances: list[float | None]) -> _Linear:
        """Return the network seen from its ports: one elimination for all columns."""
        nodes = self.nodes
        size = len(nodes) + len(self.branches)
        ground = size  # its row is dropped, its column becomes the one of the sources
        width = size + 1 + len(self.ports)
        rows = [[0.0] * width for _ in range(size + 1)]
        sources = [0.0] * (size + 1)
        taps: list[tuple[int, int]] = []
        for k, e in enumerate(self.elements):
            one, other = self.ends[k]
            i, j = nodes.get(one, ground), nodes.get(other, ground)
            ohms = resistances[k]
            if ohms is None:
                if isinstance(e, CurrentLoad):
                    sources[i] -= e.current
                    sources[j] += e.current
                elif isinstance(e, PowerLoad):
                    column = size + 1 + len(taps)
                    rows[i][column] -= 1
                    rows[j][column] += 1
                    taps.append((i, j))
            elif k in self.branches:
                own = self.branches[k]
                sign = -1.0 if isinstance(e, Source) else 1.0
                rows[i][own] += sign
                rows[j][own] -= sign
                rows[own][i] += 1
                rows[own][j] -= 1
                rows[own][own] -= sign * ohms if ohms >= IDEAL else 0.0
                if isinstance(e, Source):
                    sources[own] = e.voltage
                    if _is_port(e):
                        rows[own][size + 1 + len(taps)] = -1.0
                        taps.append((own, ground))
            else:
                siemens = 1 / ohms
                rows[i][i] += siemens
                rows[j][j] += siemens
                rows[i][j] -= siemens
                rows[j][i] -= siemens
                if isinstance(e, Source):
                    sources[i] += e.voltage * siemens
                    sources[j] -= e.voltage * siemens
        rows.pop()
        for row, source in zip(rows, sources, strict=False):
            row[ground] = source
        columns = _eliminate(rows, size)
        if columns is None:
            raise ValueError("the resistances lie too far apart to tell the voltages")
        zero = [0.0] * (1 + len(self.ports))
        columns.append(zero)
        seen = [[a - b for a, b in zip(columns[i], columns[j], strict=True)] for i, j in taps]
        return _Linear(self.ports, columns, [row[0] for row in seen], [row[1:] for row in seen])

    def heated(
        self, answer: Callable[[_Linear], _Point]
    ) -> tuple[list[float], _Point, list[float | None], list[float]]:
        """Return unknowns, ports, resistances and temperatures at which every cable is as warm as its current makes it.

        The resistances follow the currents until they stand. Where a cable's resistance swings, its step is cut by
        what the last two tell of the swing (Wegstein's method, from memory), and should that go in circles, to a third
        of the way: up to 300 °C, copper's resistance goes at most about as the cube of its current, and less than half
        of the way then settles. It never steps further than the currents ask, so that cables only get warmer on the
        way to a collapse.
        """
        own = [k for k, e in enumerate(self.elements) if isinstance(e, Cable) and e.base_current is not None]
        resistances = list(self.resistances)
        before: dict[int, tuple[float, float]] = {}
        for attempt in range(10 * ROUNDS):
            linear = self.linear(resistances)
            point = answer(linear)
            x = [row[0] + sum(map(float.__mul__, row[1:], point.inputs)) for row in linear.columns]
            temperatures = [self.temperature(k, x, resistances) for k in range(len(self.elements))]
            asked = {k: cable.resistance_at(self.elements[k].resistance_20, temperatures[k]) for k in own}
            near = SLACK if attempt < ROUNDS else BALANCE  # the last figures may shiver where a load is at its most
            if all(abs(asked[k] - resistances[k]) <= near * resistances[k] for k in own):
                return x, point, resistances, temperatures
            resistances = list(resistances)
            for k in own:
                used, wanted = resistances[k], asked[k]
                keep = 0.0 if attempt < ROUNDS // 2 else 2 / 3
                if not keep and k in before and used != before[k][0]:
                    slope = (wanted - before[k][1]) / (used - before[k][0])
                    keep = min(0.99, max(0.0, slope / (slope - 1))) if slope < 0 else 0.0
                before[k] = used, wanted
                resistances[k] = keep * used + (1 - keep) * wanted
        raise NoSolution("the heat of the cables does not settle")

    def temperature(self, k: int, x: list[float], resistances: list[float | None]) -> float:
        """Return how warm an element's copper is; only a cable's means something [degC]."""
        e = self.elements[k]
        if not isinstance(e, Cable):
            return 0.0
        if e.base_current is None:
            return e.ambient
        current = abs(self.current(k, x, resistances))
        return min(HOTTEST, cable.conductor_temperature(current, e.base_current, e.insulation, e.ambient))

    def current(self, k: int, x: list[float], resistances: list[float | None]) -> float:
        """Return the current of an element that has a resistance, in the direction that it counts [A]."""
        if k in self.branches:
            return x[self.branches[k]]
        one, other = self.ends[k]
        volts = x[self.nodes.get(one, -1)] - x[self.nodes.get(other, -1)]
        e = self.elements[k]
        return (e.voltage - volts if isinstance(e, Source) else volts) / resistances[k]

    def solution(self, x, point: _Point, resistances, temperatures) -> Solution:
        """Return everything as a reader asks for it."""
        nodes = self.nodes
        voltages = {self.ground: 0.0} | {node: x[i] for node, i in nodes.items()}
        inputs = dict(zip((p.name for p in self.ports), zip(point.inputs, point.fixed, strict=True), strict=True))
        currents, powers, states, useful, losses, warm = {}, {}, {}, {}, {}, {}
        overheated = []
        for k, e in enumerate(self.elements):
            one, other = self.ends[k]
            volts = voltages[one] - voltages[other]
            name, ohms = e.name, resistances[k]
            if isinstance(e, PowerLoad):
                current, fixed = inputs[name]
                taken = volts * current
                useful[name] = e.power if fixed is None else max(0.0, (taken - e.idle) * e.efficiency)
                losses[name] = taken - useful[name]
                states[name] = "full" if fixed is None else "limited"
            elif isinstance(e, CurrentLoad):
                current = e.current
            else:
                current = 0.0 if ohms is None else self.current(k, x, resistances)
                losses[name] = 0.0 if ohms is None or ohms < IDEAL else current * current * ohms
            if isinstance(e, Source):
                fixed = inputs[name][1] if name in inputs else None
                states[name] = "holds" if fixed is None else "limited" if fixed else "blocked"
                current = current if fixed is None else fixed
            if isinstance(e, Cable):
                warm[name] = temperatures[k]
                if temperatures[k] >= HOTTEST > e.ambient:
                    overheated.append(name)
            currents[name] = current
            powers[name] = -volts * current if isinstance(e, Source) else volts * current
        return Solution(voltages, currents, powers, warm, states, useful, losses, tuple(overheated))


def _is_port(e: Element) -> bool:
    """Return whether an element bends the straight lines."""
    return isinstance(e, PowerLoad) or (isinstance(e, Source) and (e.limit is not None or e.one_way))


def _resistance(e: Element) -> float | None:
    """Return an element's resistance before any current warms it; None where nothing conducts by itself [ohm]."""
    if isinstance(e, Cable):
        return cable.resistance_at(e.resistance_20, e.ambient)
    if isinstance(e, CurrentLoad | PowerLoad) or (isinstance(e, Switch) and not e.closed):
        return None
    return float(e.resistance)
