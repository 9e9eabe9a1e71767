"""The integrator: against SciPy at rtol 1e-12, exact solutions, its order, and laws that never settle."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import RK45, solve_ivp

from calc.physics import events
from calc.physics.events import INSTANT, Chatter, Lost, Mode, integrate

TIGHT = {"rtol": 1e-12, "atol": 1e-13}


def smooth(derivative, until, **more):
    """Return a law without guards and sums."""
    return Mode(lambda t, y: (derivative(t, y), (), None), lambda t, y, seen: (), until, **more)


def stop(*event):
    """End the run at its first event."""


def test_the_coefficients_are_those_of_scipy():
    """The same pair as SciPy's RK45, whose interpolant takes powers 1 to 4 as well."""
    for n, row in enumerate(events.A, 1):
        assert list(row) == pytest.approx(list(RK45.A[n, :n]), abs=1e-15)
    assert [0, *events.C, 1] == pytest.approx(list(RK45.C), abs=1e-15)
    assert list(events.B[:6]) == pytest.approx(list(RK45.B), abs=1e-15)
    assert list(events.E) == pytest.approx(list(RK45.E), abs=1e-15)
    assert np.array(events.BETWEEN) == pytest.approx(RK45.P, abs=1e-15)


# Classic problems


def pol(t, y):
    """Van der Pol's oscillator, its parameter 2."""
    return y[1], 2 * (1 - y[0] ** 2) * y[1] - y[0]


def test_van_der_pol_and_its_zeros():
    """Two modes that differ only in their guard: each ends where y crosses 0."""
    zeros = []

    def mode(sign):
        return Mode(lambda t, y: (pol(t, y), (), sign), lambda t, y, seen: (sign * y[0],), 20.0)

    def change(time, state, which, sign):
        if which is None:
            return None
        zeros.append(time)
        return mode(-sign), state

    time, state, _ = integrate(mode(1), 0.0, (2.0, 0.0), (), change, (1e-10, 1e-10), 1e-9)
    theirs = solve_ivp(pol, (0, 20), (2, 0), events=lambda t, y: y[0], **TIGHT)
    assert time == 20.0
    assert state == pytest.approx(theirs.y[:, -1], abs=1e-6)
    assert zeros == pytest.approx(theirs.t_events[0], abs=2 * INSTANT)


def test_a_bouncing_ball():
    """Height and speed under 9.81; each bounce keeps 0.8 of the speed. Bounce k lasts 0.8^k · 2v/g: exact."""
    bounces = []
    ball = Mode(lambda t, y: ((y[1], -9.81), (y[1] ** 2,), None), lambda t, y, seen: (y[0],), 9.0)

    def change(time, state, which, seen):
        bounces.append(time)
        return (ball, (0.0, -0.8 * state[1])) if len(bounces) < 12 else None

    _, _, squares = integrate(ball, 0.0, (1.0, 0.0), (0.0,), change, (1e-9, 1e-9), 1e-9)
    fall = math.sqrt(2 / 9.81)
    exact = [fall * (1 + 2 * sum(0.8**n for n in range(1, k + 1))) for k in range(12)]
    assert bounces == pytest.approx(exact, abs=40 * INSTANT)
    speeds = [math.sqrt(2 * 9.81) * 0.8**n for n in range(12)]
    exact_squares = (speeds[0] ** 3 + 2 * sum(v**3 for v in speeds[1:])) / (3 * 9.81)
    assert squares[0] == pytest.approx(exact_squares, rel=1e-5)


def test_a_thermostat():
    """Between 18 and 22 °C, heated towards 40, cooling towards 5, both at a rate of 1/h: every time is exact."""
    switched = []

    def mode(on):
        towards, edge, sign = (40.0, 22.0, -1) if on else (5.0, 18.0, 1)
        return Mode(lambda t, y: ((towards - y[0],), (float(on),), on), lambda t, y, seen: (sign * (y[0] - edge),), 6.0)

    def change(time, state, which, on):
        if which is None:
            return None
        switched.append(time)
        return mode(not on), state

    _, _, heating = integrate(mode(True), 0.0, (18.0,), (0.0,), change, (1e-8,), 1e-8)
    up, down = math.log(22 / 18), math.log(17 / 13)
    exact = [k // 2 * (up + down) + (up if k % 2 == 0 else up + down) for k in range(len(switched))]
    assert len(switched) > 20
    assert switched == pytest.approx(exact, abs=len(switched) * 2 * INSTANT)
    on = sum(b - a for a, b in zip([0, *exact[1::2]], exact[::2], strict=False))
    assert heating[0] == pytest.approx(on + max(0.0, 6.0 - exact[-1]) * (len(exact) % 2 == 0), abs=1e-5)


# Exact solutions

rate = st.floats(-3, 1)


@given(st.lists(st.tuples(rate, st.floats(-5, 5)), min_size=1, max_size=5), st.floats(0.1, 4))
def test_linear_systems(parts, until):
    """y' = a·y has y0·exp(a·t), and the sum of y has (y − y0)/a."""
    rates, start = zip(*parts, strict=True)

    def derivative(t, y):
        return [a * v for a, v in zip(rates, y, strict=True)]

    mode = Mode(lambda t, y: (derivative(t, y), (sum(y),), None), lambda t, y, seen: (), until)
    time, state, totals = integrate(mode, 0.0, start, (0.0,), stop, (1e-8,) * len(start), 1e-8)
    assert time == until
    assert state == pytest.approx([v * math.exp(a * until) for a, v in parts], abs=1e-5)
    grown = [v * math.expm1(a * until) / a if abs(a) > 1e-9 else v * until for a, v in parts]
    assert totals[0] == pytest.approx(sum(grown), abs=1e-5)


@given(st.floats(0.2, 5), st.floats(0.05, 0.95))
def test_a_decay_crosses_a_level_when_it_should(fast, level):
    mode = Mode(lambda t, y: ((-fast * y[0],), (), None), lambda t, y, seen: (y[0] - level,), 30.0)
    time, state, _ = integrate(mode, 0.0, (1.0,), (), stop, (1e-10,), 1e-9)
    assert time == pytest.approx(-math.log(level) / fast, abs=3 * INSTANT)
    assert state[0] == pytest.approx(level, abs=3 * INSTANT * fast)


@given(st.floats(0.05, 3), st.floats(0.05, 3))
def test_of_two_guards_in_one_step_the_earlier_counts(one, other):
    mode = Mode(lambda t, y: ((1.0,), (), None), lambda t, y, seen: (one - y[0], other - y[0]), 9.0)
    found = []
    integrate(mode, 0.0, (0.0,), (), lambda t, y, which, seen: found.append((t, which)), (1e-9,), first_step=9.0)
    assert found[0][0] == pytest.approx(min(one, other), abs=2 * INSTANT)
    assert found[0][1] == (0 if one <= other else 1) or abs(one - other) < 2 * INSTANT


def test_the_order_is_five():
    """Halving a step divides what is left of y' = y·cos t at t = 2 by about 2^5; between, by 2^5 a step as well."""

    def left(n):
        mode = smooth(lambda t, y: (y[0] * math.cos(t),), 2.0, longest=2.0 / n)
        _, state, _ = integrate(mode, 0.0, (1.0,), (), stop, (1e9,), first_step=2.0 / n)
        return abs(state[0] - math.exp(math.sin(2.0)))

    orders = [math.log2(left(n) / left(2 * n)) for n in (8, 16, 32)]
    assert orders == pytest.approx([5, 5, 5], abs=0.4)


def test_the_interpolant_is_of_order_four():
    """Halfway through one step of y' = y·cos t the error falls with the fifth power of the step."""

    def left(h):
        mode = smooth(lambda t, y: (y[0] * math.cos(t),), h)
        here = mode.rates(0.0, (1.0,))
        step, *_ = events._Pace((1e9,), 1e-6, h).step(mode, 0.0, (1.0,), (), here, h)
        return abs(step.at(0.5)[1][0] - math.exp(math.sin(h / 2)))

    assert math.log2(left(0.4) / left(0.2)) > 4.5


# What is kept


def bent(y):
    """Return what a tank holds that is four times as wide below half, and how that grows with the level."""
    return (4 * y, 4.0) if y < 0.5 else (1.5 + y, 1.0)


@pytest.mark.parametrize("allowed", [1e-4, 1e-7])
def test_steps_are_short_where_what_is_kept_would_stray(allowed):
    """A tank empties at a rate of its own; what runs out is summed up, and must be what it held less what it holds."""
    told = []

    def strays(before, old, after, new, hours):
        told.append(abs(bent(before[0])[0] - bent(after[0])[0] - new[0] + old[0]) / allowed)
        return told[-1]

    mode = smooth(lambda t, y: (-0.3 - y[0],), 1.0)
    mode = mode._replace(rates=lambda t, y: ((-0.3 - y[0],), ((0.3 + y[0]) * bent(y[0])[1],), None))
    _, state, out = integrate(mode, 0.0, (1.0,), (0.0,), stop, (1e-3,), strays=strays, first_step=1.0)
    assert max(told) > 1
    assert abs(bent(1.0)[0] - bent(state[0])[0] - out[0]) < 20 * allowed


def test_a_step_is_taken_anew_where_a_part_of_it_lies_beyond_its_law():
    """Beyond the guard nonsense is summed up; of that, what is summed up until the guard must show nothing."""
    mode = Mode(
        lambda t, y: ((1.0,), (1.0 if y[0] <= 1 else 500.0,), None), lambda t, y, seen: (1.0 - y[0],), until=9.0
    )

    def strays(before, old, after, new, hours):
        return abs(new[0] - old[0] - after[0] + before[0]) / 1e-7 if hours else 0.0

    plain, careful = (integrate(mode, 0.0, (0.0,), (0.0,), stop, (1e-9,), strays=told)[2][0] for told in (None, strays))
    assert abs(plain - 1) > 0.1
    assert careful == pytest.approx(1, abs=1e-5)


# Ends


def test_a_run_tells_both_sides_of_every_change():
    seen = []
    mode = Mode(lambda t, y: ((1.0,), (y[0],), None), lambda t, y, seen: (), 1.0)

    def change(time, state, which, old):
        return (mode._replace(until=2.0), (0.0,)) if time < 2 else None

    integrate(mode, 0.0, (0.0,), (0.0,), change, (1e-9,), record=lambda *point: seen.append(point), first_step=1.0)
    assert [(t, round(y[0], 9)) for t, y, _, _ in seen if t in (0, 1, 2)] == [(0, 0), (1, 1), (1, 0), (2, 1)]
    assert seen[-1][2][0] == pytest.approx(1.0)


def test_a_law_that_only_switches_to_and_fro_is_refused():
    """Both laws push across the edge that ends the other one."""

    def mode(sign):
        return Mode(lambda t, y: ((-sign,), (), sign), lambda t, y, seen: (sign * (y[0] - 1.0),), 9.0)

    def change(time, state, which, sign):
        return mode(-sign), state

    with pytest.raises(Chatter) as refused:
        integrate(mode(1), 0.0, (2.0,), (), change, (1e-9,))
    assert refused.value.time == pytest.approx(1.0, abs=1e-4)


def test_a_law_that_is_over_as_it_begins_is_refused_too():
    mode = smooth(lambda t, y: (1.0,), 0.0)
    with pytest.raises(Chatter):
        integrate(mode, 0.0, (0.0,), (), lambda *event: (mode, (0.0,)), (1e-9,))


def test_a_guard_that_is_broken_from_the_start_is_an_event_at_once():
    mode = Mode(lambda t, y: ((-1.0,), (), None), lambda t, y, seen: (y[0],), 9.0)
    time, _, _ = integrate(mode, 0.0, (-1.0,), (), stop, (1e-9,))
    assert time == pytest.approx(0, abs=2 * INSTANT)


def test_what_runs_away_is_given_up():
    """y' = y² from 1 reaches infinity at t = 1."""
    with pytest.raises(Lost) as refused:
        integrate(smooth(lambda t, y: (y[0] * y[0],), 2.0), 0.0, (1.0,), (), stop, (1e-9,))
    assert refused.value.time == pytest.approx(1.0, abs=1e-3)


def test_cost_grows_with_what_happens_not_with_the_hours():
    """A state at rest over a year takes as many evaluations as over a week, but for the growth of the first steps."""

    def evaluations(until):
        count = []
        integrate(smooth(lambda t, y: count.append(t) or (-y[0],), until), 0.0, (0.0,), (), stop, (1e-9,))
        return len(count)

    assert evaluations(8766) < evaluations(168) + 40
