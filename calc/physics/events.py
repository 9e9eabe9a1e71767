"""Following a state through time, from event to event: an integrator for systems that change their law on the way.

A mode is a law that holds for a while: how fast the state changes, and guards, which stay at or above 0 as long as the
law holds. A step in which a guard falls below 0 is cut where it crosses, so that the state lands on the event; then the
law may change and the state may jump. A guard that is below 0 as a law begins is an event at once. There is no fixed
tick: cost grows with what happens, not with the hours.

Method: the Runge-Kutta pair of orders 5 and 4 of Dormand and Prince (1980), its step chosen by a proportional-integral
control of the error (Gustafsson 1991, with the powers of Hairer and Wanner's code), with Shampine's interpolant of
order 4 between (coefficients as SciPy's RK45 has them, which a test compares). Six evaluations a step, the last serving
the next step too. It is for laws that are not stiff: where a rate is fast and its state has long settled, a step stays
below about 3.3 over that rate.

What is only summed up along the way (energy) is given as rates beside the derivatives: it is integrated with the same
steps and the same order, and costs no stages. A step that strays from what must be kept, such as energy, is refused;
one that is cut off is taken anew up to the event, where what lies between its ends is not exact enough.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

INSTANT = 1e-6
"""An event's time is found to within this; nearer events are one instant [h]. 1e-6 h are 3.6 ms."""

MOST_AT_ONCE = 40
"""Events in one instant after which a law only switches to and fro [-]."""

SHORTEST = 1e-11
"""A step that would have to be shorter than this is given up [h]."""

SAFETY, SHRINK, GROW = 0.9, 0.2, 8.0
"""How far a step's length is trusted, and by how much it may change at once [-]."""

SURE, CUT = 0.3, 1e-4
"""Error of a step, as a share of what is allowed, up to which it is also exact enough between its ends [-]; a step that
is cut off shorter than this needs no better [h]."""

KEEN, CALM = 0.17, 0.04
"""Powers of the error now and of the error before, in the choice of the next step [-]."""

C = (1 / 5, 3 / 10, 4 / 5, 8 / 9)
A = (
    (1 / 5,),
    (3 / 40, 9 / 40),
    (44 / 45, -56 / 15, 32 / 9),
    (19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729),
    (9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656),
)
B = (35 / 384, 0.0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84, 0.0)
E = (-71 / 57600, 0.0, 71 / 16695, -71 / 1920, 17253 / 339200, -22 / 525, 1 / 40)
"""Dormand and Prince: nodes, stages, the result of order 5, and what the one of order 4 is above it."""

BETWEEN = (
    (1.0, -8048581381 / 2820520608, 8663915743 / 2820520608, -12715105075 / 11282082432),
    (0.0, 0.0, 0.0, 0.0),
    (0.0, 131558114200 / 32700410799, -68118460800 / 10900136933, 87487479700 / 32700410799),
    (0.0, -1754552775 / 470086768, 14199869525 / 1410260304, -10690763975 / 1880347072),
    (0.0, 127303824393 / 49829197408, -318862633887 / 49829197408, 701980252875 / 199316789632),
    (0.0, -282668133 / 205662961, 2019193451 / 616988883, -1453857185 / 822651844),
    (0.0, 40617522 / 29380423, -110615467 / 29380423, 69997945 / 29380423),
)
"""Shampine's interpolant: for each stage, what the powers 1 to 4 of the share of the step count [-]."""


class Chatter(ValueError):
    """A law that switches to and fro in one instant without end.

    Attributes
    ----------
    time : when [h]
    guards : what was crossed in turn, the last ones [-]
    """

    def __init__(self, time: float, guards: tuple):
        super().__init__(f"it switches to and fro without end at {time:g} h (guards {guards})")
        self.time, self.guards = time, guards


class Lost(ValueError):
    """A state that cannot be followed, as no step is short enough.

    Attributes
    ----------
    time : up to which it was followed [h]
    """

    def __init__(self, time: float):
        super().__init__(f"the state cannot be followed beyond {time:g} h")
        self.time = time


class Mode(NamedTuple):
    """A law that holds for a while.

    Attributes
    ----------
    rates : of time and state: derivatives, rates of what is summed up, and whatever else was found there and is of use
        to the guards and to a record of the run
    guards : of time, state and that last: numbers that are at or above 0 while the law holds
    until : when it ends at the latest [h]
    longest : longest step under this law [h]
    absolute : error allowed in each number of the state in a step, where this law wants another than the run [-]
    here : what `rates` gives where the law begins, if it is known already
    """

    rates: Callable[[float, Sequence[float]], tuple[Sequence[float], Sequence[float], object]]
    guards: Callable[[float, Sequence[float], object], Sequence[float]]
    until: float
    longest: float = math.inf
    absolute: Sequence[float] | None = None
    here: tuple | None = None


def share_weights(share: float) -> tuple[float, ...]:
    """Return how much each of the seven stages counts at a share of a step (Shampine's interpolant of order 4).

    Parameters
    ----------
    share : of the step, 0 to 1 [-]

    Returns
    -------
    weights : to be multiplied by the step and the stages' rates [-]

    Examples
    --------
    >>> [round(w, 6) for w in share_weights(1.0)] == [round(b, 6) for b in B]
    True
    >>> round(sum(share_weights(0.3)), 12)
    0.3
    """
    return tuple([share * (a + share * (b + share * (c + share * d))) for a, b, c, d in BETWEEN])


def combined(start: Sequence[float], step: float, weights: Sequence[float], rates: Sequence) -> list[float]:
    """Return a start moved on by weighted rates of all seven stages; the second never counts.

    Parameters
    ----------
    start : where the step began [-]
    step : its length [h]
    weights : of the seven stages [-]
    rates : of the seven stages [-]

    Returns
    -------
    moved : as long as the start [-]

    Examples
    --------
    >>> round(combined([1.0], 0.5, B, [(2.0,)] * 7)[0], 12)
    2.0
    """
    w1, _, w3, w4, w5, w6, w7 = weights
    k1, _, k3, k4, k5, k6, k7 = rates
    return [
        y + step * (w1 * a + w3 * c + w4 * d + w5 * e + w6 * f + w7 * g)
        for y, a, c, d, e, f, g in zip(start, k1, k3, k4, k5, k6, k7, strict=True)
    ]


class _Step(NamedTuple):
    """One step that was taken: where from, how long, the stages, its error as a share of what is allowed."""

    time: float
    length: float
    state: Sequence[float]
    totals: Sequence[float]
    stages: tuple
    error: float

    def at(self, share: float) -> tuple[float, list[float]]:
        """Return the time and the state at a share of the step."""
        slopes = [stage[0] for stage in self.stages]
        return self.time + share * self.length, combined(self.state, self.length, share_weights(share), slopes)

    def totals_at(self, share: float) -> list[float]:
        """Return what was summed up until a share of the step."""
        weights = B if share == 1.0 else share_weights(share)
        return combined(self.totals, self.length, weights, [stage[1] for stage in self.stages])


def _stages(rates: Callable, time: float, state: Sequence[float], first: tuple, h: float) -> tuple:
    """Return the new state and the seven stages of a step of length h."""
    k1 = first[0]
    (a21,), (a31, a32), (a41, a42, a43), (a51, a52, a53, a54), (a61, a62, a63, a64, a65) = A
    b1, _, b3, b4, b5, b6, _ = B
    a21 *= h
    second = rates(time + C[0] * h, [y + a21 * a for y, a in zip(state, k1)])  # noqa: B905
    k2 = second[0]
    third = rates(time + C[1] * h, [y + h * (a31 * a + a32 * b) for y, a, b in zip(state, k1, k2)])  # noqa: B905
    k3 = third[0]
    fourth = rates(
        time + C[2] * h,
        [y + h * (a41 * a + a42 * b + a43 * c) for y, a, b, c in zip(state, k1, k2, k3)],  # noqa: B905
    )
    k4 = fourth[0]
    fifth = rates(
        time + C[3] * h,
        [
            y + h * (a51 * a + a52 * b + a53 * c + a54 * d)
            for y, a, b, c, d in zip(state, k1, k2, k3, k4)  # noqa: B905
        ],
    )
    k5 = fifth[0]
    sixth = rates(
        time + h,
        [
            y + h * (a61 * a + a62 * b + a63 * c + a64 * d + a65 * e)
            for y, a, b, c, d, e in zip(state, k1, k2, k3, k4, k5)  # noqa: B905
        ],
    )
    k6 = sixth[0]
    new = [
        y + h * (b1 * a + b3 * c + b4 * d + b5 * e + b6 * f)
        for y, a, c, d, e, f in zip(state, k1, k3, k4, k5, k6)  # noqa: B905
    ]
    return new, (first, second, third, fourth, fifth, sixth, rates(time + h, new))


def _error(new: Sequence[float], h: float, stages: tuple, relative: float, absolute: Sequence[float]) -> float:
    """Return the largest error of a step's new state as a share of what is allowed."""
    e1, _, e3, e4, e5, e6, e7 = E
    k1, _, k3, k4, k5, k6, k7 = [stage[0] for stage in stages]
    worst = 0.0
    for z, allowed, a, c, d, e, f, g in zip(new, absolute, k1, k3, k4, k5, k6, k7):  # noqa: B905
        error = e1 * a + e3 * c + e4 * d + e5 * e + e6 * f + e7 * g
        error = (error if error > 0.0 else -error) / (allowed + relative * (z if z > 0.0 else -z))
        if error > worst:
            worst = error
    return worst * h if math.isfinite(sum(new)) else math.inf


class _Past(NamedTuple):
    """What holds a hair past a crossing: the share of the step, time, state, rates and guards."""

    share: float
    time: float
    state: Sequence[float]
    here: tuple
    guards: Sequence[float]


def _crossing(mode: Mode, step: _Step, which: int, before: float, past: _Past) -> _Past:
    """Return what holds a hair past where a guard crosses 0 downwards in a step, from its value at the step's begin.

    Chandrupatla's method, ended when the two sides are an instant apart: through three points the inverse of a parabola
    where that is safe, else the middle.
    """
    a, fa, b, fb = 0.0, before, past.share, past.guards[which]
    near = INSTANT / step.length
    part = fa / (fa - fb)
    while b - a > near:
        share = min(max(a + part * (b - a), a + near / 2), b - near / 2)
        time, state = step.at(share)
        here = mode.rates(time, state)
        guards = mode.guards(time, state, here[2])
        value = guards[which]
        if value < 0:
            c, fc, b, fb, past = b, fb, share, value, _Past(share, time, state, here, guards)
        else:
            c, fc, a, fa = a, fa, share, value
        # As seen from the new point: the root lies between it and the other side, and what it replaced beyond it.
        new, old = (b, a) if value < 0 else (a, b)
        f_new, f_old = (fb, fa) if value < 0 else (fa, fb)
        xi, phi = (new - old) / (c - old), (f_new - f_old) / (fc - f_old)
        if phi * phi < xi and (1 - phi) * (1 - phi) < 1 - xi:
            part = f_new / (f_old - f_new) * fc / (f_old - fc)
            part += (c - new) / (old - new) * f_new / (fc - f_new) * f_old / (fc - f_old)
        else:
            part = 0.5
        part = 1 - part if value < 0 else part
    return past


def _first_event(mode: Mode, step: _Step, before: Sequence[float], end: _Past) -> tuple[_Past, int | None]:
    """Return what holds where the first guard crosses in a step, and which it is; its end and None if none does."""
    past, first = end, None
    crossed = [n for n, value in enumerate(end.guards) if value < 0]
    while crossed:
        now = past.guards
        first = min(crossed, key=lambda n: max(before[n], 0.0) / (max(before[n], 0.0) - now[n]))
        past = _crossing(mode, step, first, max(before[first], 0.0), past)
        crossed = [n for n in crossed if n != first and past.guards[n] < 0]
    return past, first


class _Pace:
    """The choice of a step's length, which remembers how the steps before went."""

    def __init__(self, absolute: Sequence[float], relative: float, first_step: float, strays: Callable | None = None):
        self._absolute, self._relative, self._strays = absolute, relative, strays
        self._first = self._next = first_step
        self._error = 1.0

    def restart(self) -> None:
        """Be careful after a change of law."""
        self._next = min(self._next, self._first)

    def anew(self, step: _Step, past: _Past, totals: Sequence[float]) -> float | None:
        """Return how long a step that is to be cut off should rather be taken anew; None if it is exact enough.

        Where what is kept is broken, the law no longer held in a part of it: then it ends just before the crossing.
        """
        left = past.share * step.length
        if left > CUT and self._strays and self._strays(step.state, step.totals, past.state, totals, left) > 1:
            return left - 2 * INSTANT
        return left + 2 * INSTANT if step.error > SURE and CUT < left < step.length - CUT else None

    def step(self, mode: Mode, time: float, state: Sequence[float], totals: Sequence[float], here: tuple, most: float):
        """Return a step that is exact enough, `most` long or less, and the state and the sums that it leads to."""
        left = mode.until - time
        h = min(self._next, mode.longest)
        h = left if h >= 0.99 * left else min(h, left / 2)
        h = min(h, most)
        refused = False
        while True:
            new, stages = _stages(mode.rates, time, state, here, h)
            error = _error(new, h, stages, self._relative, mode.absolute or self._absolute)
            if error <= 1:
                taken = _Step(time, h, state, totals, stages, error)
                summed = taken.totals_at(1.0)
                if self._strays:
                    error = max(error, self._strays(state, totals, new, summed, 0.0))
                    taken = taken._replace(error=error)
                if error <= 1:
                    break
            refused = True
            h *= max(SHRINK, SAFETY * error**-0.2)
            if h < SHORTEST:
                raise Lost(time)
        growth = min(GROW, SAFETY * max(error, 1e-8) ** -KEEN * self._error**CALM)
        self._error = max(error, 1e-4)
        self._next = h * min(1.0, growth) if refused else max(h * growth, self._next if h < self._next else 0.0)
        return taken, new, summed


def integrate(
    mode: Mode,
    start: float,
    state: Sequence[float],
    totals: Sequence[float],
    change: Callable[[float, Sequence[float], int | None, object], tuple[Mode, Sequence[float]] | None],
    absolute: Sequence[float],
    relative: float = 1e-6,
    record: Callable[[float, Sequence[float], Sequence[float], object], None] | None = None,
    first_step: float = 0.4,
    strays: Callable[[Sequence[float], Sequence[float], Sequence[float], Sequence[float], float], float] | None = None,
) -> tuple[float, Sequence[float], Sequence[float]]:
    """Return the time, the state and the sums at the end of a run through modes.

    Parameters
    ----------
    mode : the law at the start [-]
    start : the time then [h]
    state : as the run begins; its length never changes [-]
    totals : what has been summed up before [-]
    change : of time, state, the guard that was crossed (None where the mode's time is over) and what the old law saw
        there: the next law and the state, or None to end the run [-]
    absolute : error allowed in each number of the state in a step [-]
    relative : error allowed in a step, as a share of each number [-]
    record : told of every step's end and of every change, both sides of it [-]
    first_step : longest that is tried at first and after a change of law [h]
    strays : of state and sums before a step and after it, and of its hours where it is cut off, else 0: by how much
        they break what is kept, such as energy, as a share of what a step may [-]

    Returns
    -------
    time : of the end [h]
    state : then [-]
    totals : summed up till then [-]

    Raises
    ------
    Chatter
        where a law only switches to and fro.
    Lost
        where no step is short enough.

    Examples
    --------
    A tank runs out at a rate of its own level, and is closed at half:

    >>> tank = Mode(lambda t, y: ((-y[0],), (y[0],), None), lambda t, y, seen: (y[0] - 0.5,), until=9.0)
    >>> time, level, out = integrate(tank, 0.0, (1.0,), (0.0,), lambda *event: None, absolute=(1e-9,))
    >>> round(time, 5), round(level[0], 5), round(out[0], 5)
    (0.69315, 0.5, 0.5)
    """
    pace = _Pace(absolute, relative, first_step, strays)
    time, last_event, at_once = start, -math.inf, []
    while True:
        here = mode.here or mode.rates(time, state)
        guards = mode.guards(time, state, here[2])
        which = next((n for n, value in enumerate(guards) if value < 0), None)
        if record and which is None:
            record(time, state, totals, here[2])
        most = math.inf
        while which is None and time < mode.until:
            taken, new, summed = pace.step(mode, time, state, totals, here, most)
            then = time + taken.length
            end = _Past(1.0, then, new, taken.stages[6], mode.guards(then, new, taken.stages[6][2]))
            past, which = _first_event(mode, taken, guards, end)
            most = math.inf
            if which is not None:
                summed = taken.totals_at(past.share)
                shorter = pace.anew(taken, past, summed)
                if shorter:
                    most, which = shorter, None
                    continue
            elif then >= mode.until - SHORTEST:
                past = past._replace(time=mode.until)
            totals = summed
            _, time, state, here, guards = past
            if record:
                record(time, state, totals, here[2])
        at_once = [*at_once, which] if time - last_event <= 4 * INSTANT else [which]
        last_event = time
        if len(at_once) > MOST_AT_ONCE:
            raise Chatter(time, tuple(at_once[-6:]))
        following = change(time, state, which, here[2])
        if following is None:
            return time, state, totals
        mode, state = following
        pace.restart()
