"""A run of cable from battery to battery and on to the loads: the thinnest cables and the fuses that do all they must.

A size has to satisfy every limit at once: the volts must arrive (LOSS), or a charger must be able to draw its power at
all (POWER); the copper must stay below its insulation's rating where it lies (HEAT); and there must be a fuse that
carries the load for good and in its surge, is no larger than the law lets it be for the thinnest piece that it guards,
and opens before a dead short anywhere spoils any of these pieces (RATING, SURGE, SHORT).

Each limit is kept by a thicker cable where a thinner one keeps it. So all pairs of sizes that will do lie on one side
of a staircase, and walking along its edge finds the pair with the least copper; no thinner size in either place will
do. Where two pieces share one loss, that may mean a thinner piece here for a thicker one there.

Voltages come from `calc.physics.network`, with every cable as warm as its own current makes it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

from calc.physics import adiabatic, cable, fault, fuse, network
from calc.physics.cable_sizes import CableSize

POWER, HEAT, LOSS, RATING, SURGE, SHORT = "power", "heat", "loss", "rating", "surge", "short"
"""What may rule a size out, in the order in which it is looked at."""

ROUNDING = 1e-9
"""A loss or a rating may be above what is allowed by this share of it, as decimals are not exact [-]."""


@dataclass(frozen=True)
class Piece:
    """Where a piece of the run lies.

    Attributes
    ----------
    length : one way [m]
    conductors : 2 where the way back is a cable of the same size beside it, else 1 [-]
    insulation : temperature rating [degC]
    ambient : the hottest air around it [degC]
    engine_bay : whether it lies in the engine bay [-]
    bundled : current-carrying cables tied together [-]
    """

    length: float
    conductors: int
    insulation: float
    ambient: float
    engine_bay: bool
    bundled: float

    @property
    def air(self) -> float:
        """The air that it has to stand: an engine bay counts as 50 °C at least [degC]."""
        return max(self.ambient, cable.ENGINE_SPACE_AMBIENT) if self.engine_bay else self.ambient


@dataclass(frozen=True)
class Laid:
    """A size laid as a piece of the run.

    Attributes
    ----------
    piece, size : what was laid where
    allowable : what it may carry there [A]
    base_current : what it may carry at 30 °C, bundled as it is [A]
    resistance_20 : of all its conductors, at 20 °C [ohm]
    hottest : of all its conductors, at the insulation's rating [ohm]
    withstand : I²t that it stands [A2s]
    volume : of its metal, as an area of copper times a length [mm2 m]
    """

    piece: Piece
    size: CableSize
    allowable: float
    base_current: float
    resistance_20: float
    hottest: float
    withstand: float
    volume: float

    @property
    def coolest(self) -> float:
        """Resistance of all its conductors before a current warms them [ohm]."""
        return cable.resistance_at(self.resistance_20, self.piece.air)

    def part(self, name: str, a: str, b: str) -> network.Cable:
        """Return it as one part of a network: its conductors carry the same current and get as warm."""
        rating = cable.rating_column(self.piece.insulation)
        return network.Cable(name, a, b, self.resistance_20, self.piece.air, self.base_current, rating)


@lru_cache(maxsize=512)
def lay(size: CableSize, piece: Piece) -> Laid:
    """Return how a size does as a piece of the run.

    Parameters
    ----------
    size : of the cable [-]
    piece : where it lies [-]

    Returns
    -------
    laid : what it may carry, resists and stands [A], [ohm], [A2s]

    Examples
    --------
    >>> from calc.physics.cable_sizes import metric
    >>> laid = lay(metric(16), Piece(6, 2, 105, 30, False, 3))
    >>> round(laid.allowable / lay(metric(16), Piece(6, 2, 105, 30, False, 2)).allowable, 3)
    0.7
    >>> round(laid.resistance_20, 5)
    0.01452
    """
    bundle = cable.bundle_factor(piece.bundled)
    per_km, length = size.resistance_per_km, piece.length
    return Laid(
        piece,
        size,
        bundle * cable.allowable_current(size.copper, piece.insulation, piece.ambient, piece.engine_bay),
        bundle * cable.table_current(size.copper, piece.insulation),
        piece.conductors * cable.length_resistance(per_km, length, 20),
        piece.conductors * cable.length_resistance(per_km, length, adiabatic.start_temperature(piece.insulation)),
        adiabatic.withstand(adiabatic.insulation_factor(piece.insulation), size.copper),
        piece.conductors * length * size.copper,
    )


def clears(key: str, rating: float, low: float, high: float, allowable: float, withstand: float) -> bool:
    """Return whether a fuse opens in time at every short-circuit current that a cable may not carry for good.

    Parameters
    ----------
    key, rating : of the fuse: its family and rating [-], [A]
    low, high : the weakest and the strongest short that is fed through it [A], [A]
    allowable : what the cable may carry for good [A]
    withstand : I²t that the cable stands [A2s]

    Returns
    -------
    clears : whether even the slowest such fuse saves the insulation [-]

    Examples
    --------
    >>> clears("blade", 30, 200, 3000, 60, 400000)
    True
    >>> clears("blade", 30, 35, 3000, 30, 400000)
    False
    """
    start = max(low, allowable)
    if start >= high:
        return True
    let_through = fuse.largest_let_through(key, rating, start, high)
    return let_through is not None and let_through <= withstand


@dataclass(frozen=True)
class Guard:
    """A fuse at a battery, and what it has to guard.

    Attributes
    ----------
    families : kinds of fuse that may be fitted there [-]
    current : it carries for good [A]
    air : around it [degC]
    surge : it has to ride through; 0 for none [A]
    surge_time : how long that lasts [s]
    chemistry, capacity : of the battery that feeds it [-], [Ah]
    others : the most that joints, contacts and the body resist on the way of a short [ohm]
    """

    families: tuple[str, ...]
    current: float
    air: float
    surge: float
    surge_time: float
    chemistry: str
    capacity: float
    others: float

    @cached_property
    def needed(self) -> float:
        """The least rating that carries the load [A]."""
        return fuse.rating_needed(self.current, self.air)

    @cached_property
    def sold(self) -> tuple[tuple[str, float], ...]:
        """The fuses that carry the load, the smallest first."""
        large = ((k, r) for k in self.families for r in fuse.family(k).ratings if r >= self.needed)
        return tuple(sorted(large, key=lambda f: f[1]))

    @cached_property
    def riding(self) -> tuple[tuple[str, float], ...]:
        """Those of them that ride through the surge, even the fastest."""
        if self.surge <= self.current:
            return self.sold
        return tuple(f for f in self.sold if fuse.fastest(*f, self.surge) > self.surge_time)

    @cached_property
    def strongest(self) -> float:
        """The strongest short: at the battery's own posts [A]."""
        return fault.strongest(self.chemistry, self.capacity, 0)

    def weakest(self, laid: Sequence[Laid]) -> float:
        """Return the weakest dead short: at the far end of all that it guards [A]."""
        return fault.weakest(self.chemistry, self.capacity, sum(one.hottest for one in laid) + self.others)

    def largest(self, laid: Sequence[Laid]) -> float:
        """Return the largest rating that the law lets guard the piece that may carry least [A]."""
        return fuse.rating_allowed(min(one.allowable for one in laid))

    def guards(self, f: tuple[str, float], laid: Sequence[Laid]) -> bool:
        """Return whether a fuse saves every piece in every dead short along the way."""
        low = self.weakest(laid)
        return all(clears(*f, low, self.strongest, one.allowable, one.withstand) for one in laid)

    def able(self, laid: Sequence[Laid]) -> list[tuple[str, float]]:
        """Return every fuse that will do."""
        most = self.largest(laid) * (1 + ROUNDING)
        return [f for f in self.riding if f[1] <= most and self.guards(f, laid)]

    def fails(self, laid: Sequence[Laid]) -> str | None:
        """Return what leaves no fuse: RATING, SURGE, SHORT, or None where one will do."""
        most = self.largest(laid) * (1 + ROUNDING)
        if not self.sold or self.sold[0][1] > most:
            return RATING
        if not self.riding or self.riding[0][1] > most:
            return SURGE
        return None if any(f[1] <= most and self.guards(f, laid) for f in self.riding) else SHORT


@dataclass(frozen=True)
class Feed:
    """A circuit: a voltage, what resists beside the cables, the cables, and a load at the far end.

    Attributes
    ----------
    voltage : at the near end [V]
    others : joints, contacts and the body [ohm]
    current : drawn at the far end; 0 where a power is drawn [A]
    power : drawn there by a charger with its losses; 0 where a current is drawn [W]
    """

    voltage: float
    others: float
    current: float = 0.0
    power: float = 0.0

    @property
    def least_current(self) -> float:
        """What flows if nothing is lost on the way [A]."""
        return self.current or self.power / self.voltage

    def hopeless(self, laid: Sequence[Laid], allowed: float) -> str | None:
        """Return POWER or LOSS where even cold cables are too thin, which needs no network to be solved."""
        ohms = self.others + sum(one.coolest for one in laid)
        if 4 * ohms * self.power > self.voltage**2:
            return POWER
        lost = 100 * ohms * self.least_current / self.voltage
        return LOSS if lost > allowed * (1 + 2 * ROUNDING) else None

    def elements(self, laid: Sequence[Laid]) -> list[network.Element]:
        """Return the circuit as a network; node "n0" is behind the joints, the last one is the far end."""
        nodes = [f"n{n}" for n in range(len(laid) + 1)]
        cables = [one.part(f"cable {n}", nodes[n], nodes[n + 1]) for n, one in enumerate(laid)]
        draws = (
            network.PowerLoad("load", nodes[-1], network.GROUND, self.power)
            if self.power
            else network.CurrentLoad("load", nodes[-1], network.GROUND, self.current)
        )
        source = network.Source("source", "post", network.GROUND, self.voltage, 0.0)
        return [source, network.Resistance("others", "post", "n0", self.others), *cables, draws]

    def point(self, laid: Sequence[Laid]) -> Point:
        """Return the circuit's operating point; `network.NoSolution` where there is none."""
        found = network.solve(self.elements(laid))
        far, current = found.voltages[f"n{len(laid)}"], found.currents["load"]
        warm = tuple(found.temperatures[f"cable {n}"] for n in range(len(laid)))
        return Point(current, far, 100 * (self.voltage - far) / self.voltage, warm)

    def most(self, laid: Sequence[Laid]) -> float:
        """Return the most power that could be drawn at the far end [W]."""
        drawn = [e for e in self.elements(laid) if e.name != "load"]
        asks = network.PowerLoad("load", f"n{len(laid)}", network.GROUND, 1.0)
        try:
            return network.most_power([*drawn, asks], "load").power
        except network.NoSolution:
            return 0.0


@dataclass(frozen=True)
class Point:
    """How a circuit stands: current [A], voltage at the far end [V], share lost [%], heat of each cable [degC]."""

    current: float
    voltage: float
    lost: float
    temperatures: tuple[float, ...]


@dataclass(frozen=True)
class Fault:
    """What rules sizes out: one of the limits, and at which piece or guard, counted from 0; None for all together."""

    limit: str
    place: int | None = None


class Task:
    """Pieces in line that share one circuit: what feeds them, what they may lose, and what guards them.

    Attributes
    ----------
    feed : the circuit
    ladders : for each piece, its sizes laid, the thinnest first
    allowed : the most that may be lost, as a share of the voltage fed in [%]
    guards : the current that flows → the guards of all pieces
    """

    def __init__(
        self,
        feed: Feed,
        ladders: Sequence[Sequence[Laid]],
        allowed: float,
        guards: Callable[[float], tuple[Guard, ...]],
    ):
        self.feed, self.ladders, self.allowed, self._guards = feed, tuple(map(tuple, ladders)), allowed, guards
        self._points: dict[tuple[int, ...], Point | None] = {}
        self._faults: dict[tuple[int, ...], Fault | None] = {}

    def laid(self, at: Sequence[int]) -> tuple[Laid, ...]:
        """Return the sizes at these rungs of the ladders."""
        return tuple(ladder[n] for ladder, n in zip(self.ladders, at, strict=True))

    def point(self, at: tuple[int, ...]) -> Point | None:
        """Return the operating point, or None where there is none."""
        if at not in self._points:
            try:
                self._points[at] = self.feed.point(self.laid(at))
            except network.NoSolution:
                self._points[at] = None
        return self._points[at]

    def guards(self, at: tuple[int, ...]) -> tuple[Guard, ...]:
        """Return the guards for the current that flows there."""
        point = self.point(at) if self.feed.power else None
        return self._guards(point.current if point else self.feed.least_current)

    def fault(self, at: tuple[int, ...]) -> Fault | None:
        """Return what rules these sizes out, or None where they will do."""
        if at not in self._faults:
            self._faults[at] = self._fault(at)
        return self._faults[at]

    def _fault(self, at: tuple[int, ...]) -> Fault | None:
        laid = self.laid(at)
        hopeless = self.feed.hopeless(laid, self.allowed)
        if hopeless == POWER:
            return Fault(POWER)
        current = self.feed.least_current
        for n, one in enumerate(laid):
            if current > one.allowable:
                return Fault(HEAT, n)
        if hopeless:
            return Fault(LOSS)
        if self.feed.power:
            point = self.point(at)
            if point is None:
                return Fault(POWER)
            for n, one in enumerate(laid):
                if point.current > one.allowable:
                    return Fault(HEAT, n)
            if point.lost > self.allowed * (1 + ROUNDING):
                return Fault(LOSS)
        for n, guard in enumerate(self.guards(at)):
            if limit := guard.fails(laid):
                return Fault(limit, n)
        if not self.feed.power and self.point(at).lost > self.allowed * (1 + ROUNDING):
            return Fault(LOSS)
        return None

    @property
    def thickest(self) -> tuple[int, ...]:
        """The thickest size in every place."""
        return tuple(len(ladder) - 1 for ladder in self.ladders)

    def best(self) -> tuple[int, ...] | None:
        """Return the rungs of the sizes that will do with the least copper, or None where none will."""

        def volume(at: tuple[int, ...]) -> float:
            return sum(one.volume for one in self.laid(at))

        def fits(*at: int) -> bool:
            return self.fault(at) is None

        if len(self.ladders) == 1:
            n = first(len(self.ladders[0]), fits)
            return None if n is None else (n,)
        return min(staircase(len(self.ladders[0]), len(self.ladders[1]), fits), key=volume, default=None)

    def next_to(self, at: tuple[int, ...], place: int, step: int) -> tuple[int, ...] | None:
        """Return the rungs with one piece a size thicker (1) or thinner (−1), or None where there is none."""
        n = at[place] + step
        return (*at[:place], n, *at[place + 1 :]) if 0 <= n < len(self.ladders[place]) else None


def first(count: int, fits: Callable[[int], bool]) -> int | None:
    """Return the first number that fits, where all after one that fits do too; None where none does.

    Parameters
    ----------
    count : of numbers, from 0 [-]
    fits : whether one fits [-]

    Returns
    -------
    number : the first, or None [-]

    Examples
    --------
    >>> first(10, lambda n: n * n > 20)
    5
    """
    if not fits(count - 1):
        return None
    low, high = 0, count - 1
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if fits(middle) else (middle + 1, high)
    return low


def staircase(rows: int, columns: int, fits: Callable[[int, int], bool]) -> list[tuple[int, int]]:
    """Return every pair that fits of which no lower one fits, where raising either number of one that fits keeps it.

    Parameters
    ----------
    rows, columns : how many numbers there are, from 0 [-]
    fits : whether a pair fits [-]

    Returns
    -------
    pairs : the corners of the staircase [-]

    Examples
    --------
    >>> staircase(9, 9, lambda a, b: (a + 1) * (b + 1) >= 12)
    [(1, 5), (2, 3), (3, 2), (5, 1)]
    """
    row = first(rows, lambda n: fits(n, columns - 1))
    if row is None:
        return []
    least = first(columns, lambda n: fits(rows - 1, n))
    column, corners = columns - 1, []
    while row < rows:
        reached = column
        column = first(column + 1, lambda n, row=row: fits(row, n))
        if column < reached or not corners:
            corners.append((row, column))
        if column == least:
            break
        row += 1
    return corners
