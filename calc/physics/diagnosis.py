"""From readings to causes: how likely each is, and which reading would tell most.

Bayes' rule over particles. A particle is a cause with one value for everything that nobody knows: charge, resistances,
set points, how bad the fault is, how far the meter is off. What a meter shows in each of them is computed once for a
set-up. A reading then weighs every particle by how well it agrees, and a cause is as likely as its particles weigh
together. The values nobody knows are spread by a lattice (Korobov's, from memory), the same for every cause, so that
causes are compared in the same vehicles and every run gives the same answer.

A reading agrees within an error of its own: the meter's last digits, a vehicle that does not stand quite still, and
what the circuit leaves out. A small share of readings is taken to be wrong altogether: probes in the wrong place, the
meter on the wrong range. So one odd reading cannot rule out the truth.

The next reading is the one that is expected to tell most about the cause, in bits (Shannon's mutual information, from
memory), for the effort it takes.
"""

from __future__ import annotations

import math
from array import array
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import compress

from calc.physics import faults
from calc.physics.faults import Cause, Vehicle
from calc.tables import table

Reading = tuple[str, str]
"""Place and state."""

COUNT = 257
"""Points of the lattice, a prime, as it asks for; particles of each cause that changes the circuit [-]."""

WELL = 4
"""Lattices, each shifted, for a circuit that is well: it has to agree with one reading after the other [-]."""

GENERATOR = 76
"""Of the lattice: its powers give each unknown its own order [-]."""

MOVES = 0.09
"""How far all readings of one battery's voltage may lie from a particle's together, as its charge is a little other
than the particle's [V]."""

WRONG = 0.01
"""Share of readings that are taken to be wrong altogether, an assumption [-]."""

WIDTH = 16.0
"""Such a reading may lie anywhere in a range of this width [V], [A]."""

SURE = 0.9
"""A cause this likely is sure enough to stop [-]."""

LITTLE = 0.04
"""A reading expected to tell less than this is not worth its effort; in bits [-]."""

EFFORT = 0.1
"""How much effort counts: what a reading tells is divided by its effort to this power [-]."""

FAINT = 1e-4
"""A particle that weighs less than this share of the heaviest does not help to choose [-]."""

BOUGHT = 2.0
"""A bin of readings is this many errors wide where the next one is chosen [-]."""

DOUBT = 0.2
"""A reading is doubted where it is less likely than this to be right [-]."""


@dataclass(frozen=True)
class Error:
    """How far a reading may lie from what the circuit says: a + b · |reading| [V], [A]."""

    fixed: float
    share: float

    def at(self, value: float) -> float:
        """Return the error at a value."""
        return self.fixed + self.share * abs(value)

    def bin(self, value: float) -> int:
        """Return the number of the bin that a value falls into, each as wide as the error asks for."""
        if not self.share:
            return math.floor(value / (BOUGHT * self.fixed))
        scaled = math.log1p(self.share * abs(value) / self.fixed) / self.share
        return math.floor(math.copysign(scaled, value) / BOUGHT)


@dataclass(frozen=True)
class Particles:
    """What every reading shows in every particle of a set-up.

    Attributes
    ----------
    causes : that can be met [-]
    first : of each cause, the number of its first particle; at the end, how many there are [-]
    owner : of each particle, the number of its cause [-]
    start : weight of each before any reading; together 1 [-]
    shown : of each reading, what it shows in every particle [V], [A]
    cells : of each reading, the number of its cell (cause and bin) for every particle [-]
    bins : of each reading, the bin of every cell [-]
    usual : of each reading, the two ends between which nine in ten vehicles show it that are well [V], [A]
    """

    causes: tuple[Cause, ...]
    first: tuple[int, ...]
    owner: array
    start: array
    shown: dict[Reading, array]
    cells: dict[Reading, array]
    bins: dict[Reading, array]
    usual: dict[Reading, faults.Range]

    def of(self, cause: int) -> slice:
        """Return which particles are of a cause."""
        return slice(self.first[cause], self.first[cause + 1])


@dataclass(frozen=True)
class Diagnosis:
    """What the readings say.

    Attributes
    ----------
    odds : of every cause, the likeliest first: key and how likely [-]
    gains : of every reading that is left: what it is expected to tell in bits, the best for its effort first [-]
    sure : whether one cause is sure enough [-]
    doubted : readings that nothing known explains [-]
    """

    odds: tuple[tuple[str, float], ...]
    gains: tuple[tuple[Reading, float], ...]
    sure: bool
    doubted: tuple[Reading, ...]

    @property
    def done(self) -> bool:
        """Whether there is nothing more to be gained."""
        return self.sure or not self.gains or self.gains[0][1] < LITTLE


def lattice(count: int, dimensions: int, shift: int = 0) -> list[list[float]]:
    """Return points that fill a cube evenly: point i has the coordinates (i · g^j mod n + 1/2) / n.

    Parameters
    ----------
    count : n, a prime of which g is a generator, as of 257 [-]
    dimensions : coordinates of each point [-]
    shift : number of another lattice: each of its coordinates is moved on by a share of its own [-]

    Returns
    -------
    points : between 0 and 1 [-]

    Examples
    --------
    >>> points = lattice(257, 3)
    >>> sorted(p[2] for p in points) == [(i + 0.5) / 257 for i in range(257)]
    True
    """
    steps = [pow(GENERATOR, j, count) for j in range(dimensions)]
    moved = [(shift * math.sqrt(j + 2)) % 1 for j in range(dimensions)]
    return [
        [(((i * step) % count + 0.5) / count + move) % 1 for step, move in zip(steps, moved, strict=True)]
        for i in range(count)
    ]


@cache
def error(reading: Reading) -> Error:
    """Return how far a reading may lie from what the circuit says.

    Parameters
    ----------
    reading : place and state [-]

    Returns
    -------
    error : of it [V], [A]

    Examples
    --------
    >>> error(("second", "rested")).at(12.6)
    0.04
    """
    place, state = map(_row, reading)
    still = place["running" if reading[1] in faults.ENGINE else "error"]
    return Error(still + state["error"], place["share"] + state["share"])


@cache
def spread_of(reading: Reading) -> Error:
    """Return how far the first reading of its group may lie from a particle's, what moves it included.

    Parameters
    ----------
    reading : place and state [-]

    Returns
    -------
    error : of it [V], [A]

    Examples
    --------
    >>> round(spread_of(("second", "rested")).at(12.6), 3)
    0.098
    """
    e = error(reading)
    return e if isinstance(group(reading), tuple) else Error(math.hypot(e.fixed, MOVES), 0.0)


@cache
def effort(reading: Reading) -> float:
    """Return what a reading takes, its state included.

    Parameters
    ----------
    reading : place and state [-]

    Returns
    -------
    effort : in minutes or what is as hard [-]

    Examples
    --------
    >>> effort(("second", "rested")) < effort(("alternator", "running"))
    True
    """
    return sum(_row(key)["effort"] for key in reading)


@cache
def _row(key: str) -> dict:
    return table("fault_readings").row(key=key)


@lru_cache(maxsize=2)
def particles(v: Vehicle) -> Particles:
    """Return the particles of a set-up. The first time takes most of a second; the same set-up again, nothing.

    Parameters
    ----------
    v : the set-up [-]

    Returns
    -------
    particles : COUNT of each cause, WELL times as many of one that leaves the circuit well [-]

    Examples
    --------
    >>> p = particles(faults.example_vehicle("none"))
    >>> [len(p.owner[p.of(n)]) // COUNT for n in range(3)], [c.key for c in p.causes[:3]]
    ([4, 4, 1], ['nothing', 'flat', 'dead_cell'])
    """
    known = faults.causes(v)
    readings = faults.places_in(v)
    shown = {reading: array("d") for reading in readings}
    points = [point for n in range(WELL) for point in lattice(COUNT, faults.DIMENSIONS, n)]
    wells = [(faults.healthy(v, point), point[-2:]) for point in points]
    by_state = [(s, [(*faults.points_of(r[0]), shown[r].append) for r in readings if r[1] == s]) for s in faults.STATES]
    first, start, owner = [0], array("d"), array("H")
    whole = sum(cause.prior for cause in known)
    for n, cause in enumerate(known):
        used = wells if not cause.changes else wells[:COUNT]
        for well, severities in used:
            _show(faults.broken(well, cause, severities), by_state)
        start.extend([cause.prior / whole / len(used)] * len(used))
        owner.extend([n] * len(used))
        first.append(len(owner))
    cells, bins = {}, {}
    for reading in readings:
        cells[reading], bins[reading] = _cells(owner, shown[reading], spread_of(reading))
    well = next(n for n, cause in enumerate(known) if cause.key == "nothing")
    usual = {reading: _usual(shown[reading][first[well] : first[well + 1]]) for reading in readings}
    return Particles(known, tuple(first), owner, start, shown, cells, bins, usual)


def _usual(shown: array) -> faults.Range:
    """Return the ends that leave out a twentieth on each side."""
    edge = len(shown) // 20
    ordered = sorted(shown)
    return ordered[edge], ordered[-1 - edge]


def _show(c: faults.Circuit, by_state: list) -> None:
    """Add what every reading shows in one vehicle, as `faults.read` has it."""
    gain = 1 + c.meter
    for state, there in by_state:
        if there:
            points = faults.at_points(c, state)
            for red, black, add in there:
                volts = points[red] - points[black]
                add(volts * gain if volts == volts else 0.0)


def _cells(owner: array, shown: array, e: Error) -> tuple[array, array]:
    """Return the cell of every particle, and the bin of every cell."""
    numbers: dict[tuple[int, int], int] = {}
    bins: dict[int, int] = {}
    cells = array("H")
    of_cell = array("H")
    for cause, value in zip(owner, shown, strict=True):
        key = cause, e.bin(value)
        if key not in numbers:
            numbers[key] = len(numbers)
            of_cell.append(bins.setdefault(key[1], len(bins)))
        cells.append(numbers[key])
    return cells, of_cell


@cache
def group(reading: Reading) -> str | Reading:
    """Return what a reading moves together with: a battery's own voltage while nothing charges, or nothing but itself.

    Parameters
    ----------
    reading : place and state [-]

    Returns
    -------
    group : its name, or the reading itself [-]

    Examples
    --------
    >>> group(("second", "rested")), group(("second", "running")), group(("link", "running"))
    ('second', ('second', 'running'), ('link', 'running'))
    """
    place, state = reading
    moves = _row(place)["moves_with"]
    return moves if moves and state in faults.STILL else reading


@dataclass(frozen=True)
class Told:
    """What some readings of one group say.

    Attributes
    ----------
    readings : taken [-]
    likely : density of them in every particle [-]
    floor : the same if they are wrong altogether [-]
    shift : by how much they lie above every particle together [V]
    """

    readings: tuple[Reading, ...]
    likely: list[float]
    floor: float
    shift: list[float]


def tell(p: Particles, taken: dict[Reading, float]) -> Told:
    """Return what readings of one group say: a bell curve around every particle, on a floor.

    Together they may lie off a particle by about MOVES, and each by its own error besides.

    Parameters
    ----------
    p : the particles [-]
    taken : readings of one group [V], [A]

    Returns
    -------
    told : for every particle [-]

    Examples
    --------
    >>> p = particles(faults.example_vehicle("none"))
    >>> told = tell(p, {("second", "rested"): 12.6})
    >>> min(told.likely) >= told.floor
    True
    """
    readings, values = tuple(taken), tuple(taken.values())
    floor = WRONG / WIDTH ** len(values)
    if isinstance(group(readings[0]), tuple):
        return Told(readings, _alone(p.shown[readings[0]], error(readings[0]), values[0], floor), floor, [])
    trust = [error(reading).fixed ** -2 for reading in readings]
    tied = MOVES**2 / (1 + MOVES**2 * sum(trust))
    scale = (1 - WRONG) * math.sqrt(math.prod(trust) * tied / MOVES**2 / math.tau ** len(values))
    likely, shift, exp = [], [], math.exp
    for means in zip(*(p.shown[reading] for reading in readings), strict=True):
        pull = far = 0.0
        for t, value, mean in zip(trust, values, means, strict=True):
            off = t * (value - mean)
            pull += off
            far += off * (value - mean)
        far -= tied * pull * pull
        likely.append(floor + scale * exp(-0.5 * far) if far < 60 else floor)
        shift.append(tied * pull)
    return Told(readings, likely, floor, shift)


def _alone(shown: array, e: Error, value: float, floor: float) -> list[float]:
    """Return how likely one reading is in every particle, where nothing moves with it."""
    scale = (1 - WRONG) / math.sqrt(math.tau)
    found = []
    for mean in shown:
        sigma = e.fixed + e.share * abs(mean)
        z = (value - mean) / sigma
        found.append(floor + scale / sigma * math.exp(-0.5 * z * z) if -8 < z < 8 else floor)
    return found


def weigh(p: Particles, taken: dict[Reading, float]) -> tuple[list[float], dict[str | Reading, Told]]:
    """Return the weight of every particle after some readings, and what each group of them told.

    Parameters
    ----------
    p : the particles [-]
    taken : readings, in any order [V], [A]

    Returns
    -------
    weights, told : together 1; by group [-], [-]

    Examples
    --------
    >>> p = particles(faults.example_vehicle("none"))
    >>> weights, told = weigh(p, {("second", "rested"): 12.7})
    >>> round(sum(weights), 9), list(told)
    (1.0, ['second'])
    """
    groups: dict[str | Reading, dict[Reading, float]] = {}
    for reading in p.shown:
        if reading in taken:
            groups.setdefault(group(reading), {})[reading] = taken[reading]
    told = {key: tell(p, readings) for key, readings in groups.items()}
    weights = list(p.start)
    for one in told.values():
        weights = [w * k for w, k in zip(weights, one.likely, strict=True)]
        whole = sum(weights)
        weights = [w / whole for w in weights]
    return weights, told


def doubted(weights: list[float], told: dict[str | Reading, Told]) -> tuple[Reading, ...]:
    """Return the readings that nothing known explains.

    Parameters
    ----------
    weights : of every particle, after all readings [-]
    told : by group [-]

    Returns
    -------
    readings : more likely wrong than right [-]

    Examples
    --------
    >>> p = particles(faults.example_vehicle("none"))
    >>> doubted(*weigh(p, {("second", "rested"): 4.9}))
    (('second', 'rested'),)
    """
    return tuple(
        reading
        for one in told.values()
        if sum(w * one.floor / k for w, k in zip(weights, one.likely, strict=True)) > 1 - DOUBT
        for reading in one.readings
    )


def odds(p: Particles, weights: list[float]) -> list[float]:
    """Return how likely every cause is.

    Parameters
    ----------
    p : the particles [-]
    weights : of each [-]

    Returns
    -------
    odds : in the order of `p.causes` [-]

    Examples
    --------
    >>> p = particles(faults.example_vehicle("none"))
    >>> round(sum(odds(p, list(p.start))), 9)
    1.0
    """
    return [sum(weights[p.of(n)]) for n in range(len(p.causes))]


def _entropy(shares: list[float]) -> float:
    """Return Σ p log2 p, of shares that need not sum to 1."""
    log = math.log2
    return sum(s * log(s) for s in shares if s > 0)


def gains(p: Particles, weights: list[float], told: dict[str | Reading, Told], left: list[Reading]) -> list[float]:
    """Return what each reading is expected to tell about the cause, in bits: the mutual information of the two.

    Parameters
    ----------
    p : the particles [-]
    weights : of each [-]
    told : what the readings taken say, by group [-]
    left : readings that can still be taken [-]

    Returns
    -------
    gains : of each, 0 or more [-]

    Examples
    --------
    >>> p = particles(faults.example_vehicle("relay"))
    >>> first, other = gains(p, list(p.start), {}, [("second", "running"), ("starter", "cranking")])
    >>> first > other > 0
    True
    """
    least = FAINT * max(weights)
    heavy = [w > least for w in weights]
    kept = list(compress(weights, heavy))
    whole = sum(kept)
    kept = [w / whole for w in kept]
    owner = list(compress(p.owner, heavy))
    causes = [0.0] * len(p.causes)
    for n, w in zip(owner, kept, strict=True):
        causes[n] += w
    of_causes = _entropy(causes)
    shifts = {key: list(compress(one.shift, heavy)) for key, one in told.items() if one.shift}
    found = []
    for reading in left:
        if group(reading) in shifts:
            shown = zip(compress(p.shown[reading], heavy), shifts[group(reading)], strict=True)
            width = BOUGHT * error(reading).fixed
            cells: dict[tuple[int, int], float] = {}
            for n, w, (mean, shift) in zip(owner, kept, shown, strict=True):
                key = n, int((mean + shift + WIDTH) / width)
                cells[key] = cells.get(key, 0.0) + w
            of_cells, bins = list(cells.values()), [b for _, b in cells]
        else:
            bins = p.bins[reading]
            of_cells = [0.0] * len(bins)
            for cell, w in zip(compress(p.cells[reading], heavy), kept, strict=True):
                of_cells[cell] += w
        of_bins: dict[int, float] = {}
        for b, share in zip(bins, of_cells, strict=True):
            of_bins[b] = of_bins.get(b, 0.0) + share
        found.append(max(0.0, _entropy(of_cells) - _entropy(of_bins.values()) - of_causes))
    return found


def diagnose(v: Vehicle, taken: dict[Reading, float], out_of_reach: frozenset[Reading] = frozenset()) -> Diagnosis:
    """Return what some readings say about a set-up, and which would tell most next.

    Parameters
    ----------
    v : the set-up [-]
    taken : readings, in any order [V], [A]
    out_of_reach : readings that cannot be taken [-]

    Returns
    -------
    diagnosis : causes with their odds, readings with what they tell [-]

    Examples
    --------
    >>> v = faults.example_vehicle("relay")
    >>> taken = {("second", "rested"): 11.6, ("starter", "running"): 14.3, ("second", "running"): 11.5,
    ...          ("front-fuse", "running"): 14.2}
    >>> diagnose(v, taken).odds[0][0]
    'front_fuse'
    """
    return _diagnosed(v, tuple(taken.items()), out_of_reach)


@lru_cache(maxsize=1)
def _diagnosed(v: Vehicle, readings: tuple[tuple[Reading, float], ...], out_of_reach: frozenset[Reading]) -> Diagnosis:
    """Return the same; the last one is kept, as it is asked again where only what is shown of it changes."""
    p, taken = particles(v), dict(readings)
    weights, told = weigh(p, taken)
    likely = sorted(zip((c.key for c in p.causes), odds(p, weights), strict=True), key=lambda one: -one[1])
    left = [r for r in p.shown if r not in taken and r not in out_of_reach]
    worth = list(zip(left, gains(p, weights, told, left), strict=True))
    worth.sort(key=lambda one: -one[1] / effort(one[0]) ** EFFORT)
    return Diagnosis(tuple(likely), tuple(worth), likely[0][1] >= SURE, doubted(weights, told))
