"""A small network: what has a closed form, what Kirchhoff and energy demand, and what cannot be."""

import math
import random
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

import calc
from calc.physics import cable, network
from calc.physics.cable_sizes import metric
from calc.physics.network import (
    Cable,
    CurrentLoad,
    FloatingNodes,
    NoSolution,
    PowerLoad,
    Resistance,
    Source,
    Switch,
    TooMuchCurrent,
    TooMuchPower,
    most_power,
    solve,
)
from calc.tables import assumption
from tests.calc.networks import cable_run, grid, with_power

seeds = st.integers(0, 2**32 - 1)
volts = st.floats(9, 16)
ohms = st.floats(1e-3, 1e2)


def linear(seed, sources=None):
    """Return a network with no bends, the same for the same seed."""
    rng = random.Random(seed)
    return grid(rng, rng.randint(3, 15), sources or rng.randint(1, 4), rng.randint(0, 4))


def powered(seed, shares=(0.2, 0.95)):
    """Return a network with one to three power loads that it can feed; it is left out where no node has 1 V."""
    rng = random.Random(seed)
    parts = grid(rng, rng.randint(3, 15), rng.randint(1, 3), rng.randint(0, 2))
    assume(max(solve(parts).voltages.values()) > 1)
    return with_power(rng, parts, rng.randint(1, 3), shares)


def ends(e):
    """Return the node that an element's current enters, and the one that it leaves by."""
    if isinstance(e, Source):
        return e.minus, e.plus
    return (e.plus, e.minus) if isinstance(e, CurrentLoad | PowerLoad) else (e.a, e.b)


def left_over(parts, point):
    """Return the largest current that comes to a node and does not leave it, as a share of all that comes there [-].

    All is at least 10 mA: 15 V are good to about 1e-15 V, which is 1e-12 A through a milliohm.
    """
    net, gross = dict.fromkeys(point.voltages, 0.0), dict.fromkeys(point.voltages, 0.0)
    for e in parts:
        for node, sign in zip(ends(e), (-1, 1), strict=True):
            net[node] += sign * point.currents[e.name]
            gross[node] += abs(point.currents[e.name])
    return max(abs(net[n]) / max(gross[n], 0.01) for n in net)


def obeys_ohm(parts, point):
    """Assert that every part keeps its own law."""
    for e in parts:
        u, i = point.between(*ends(e)), point.currents[e.name]
        if isinstance(e, Resistance):
            assert u == pytest.approx(i * e.resistance, rel=1e-9, abs=1e-11)
        elif isinstance(e, PowerLoad) and point.states[e.name] == "full":
            assert u * i == pytest.approx(e.input_power, rel=1e-9)
        elif isinstance(e, Source) and point.states[e.name] == "holds":
            assert -u == pytest.approx(e.voltage - i * e.resistance, rel=1e-9, abs=1e-11)


# Closed forms


@given(volts, ohms, ohms)
def test_a_divider(u, one, other):
    """U·R2/(R1 + R2)."""
    point = solve(
        [Source("b", "in", "0", u, 0), Resistance("r1", "in", "out", one), Resistance("r2", "out", "0", other)]
    )
    assert point.voltages["out"] == pytest.approx(u * other / (one + other), rel=1e-12)
    assert point.currents["b"] == pytest.approx(u / (one + other), rel=1e-9)


@given(volts, volts, st.floats(1e-3, 0.1), st.floats(1e-3, 0.1), st.floats(1e-3, 0.1))
def test_two_batteries_joined_by_a_cable(u1, u2, r1, r2, wire):
    """The current is the difference of their voltages over all the resistance between them."""
    point = solve([Source("a", "x", "0", u1, r1), Resistance("c", "x", "y", wire), Source("b", "y", "0", u2, r2)])
    current = (u1 - u2) / (r1 + r2 + wire)
    assert point.currents["c"] == pytest.approx(current, rel=1e-9, abs=1e-11)
    assert point.currents["b"] == pytest.approx(-current, rel=1e-9, abs=1e-11)
    assert point.loss == pytest.approx(current**2 * (r1 + r2 + wire), rel=1e-9, abs=1e-12)


def test_a_bridge():
    """Wheatstone's bridge: in balance nothing flows across; out of balance, by mesh equations worked by hand."""

    def bridge(last):
        rs = [("in", "p", 1.0), ("p", "0", 2.0), ("in", "q", 3.0), ("q", "0", last), ("p", "q", 5.0)]
        parts = [Source("b", "in", "0", 12, 0), *(Resistance(f"r{k}", *r) for k, r in enumerate(rs))]
        return solve(parts)

    assert bridge(6.0).currents["r4"] == pytest.approx(0, abs=1e-14)
    # Thevenin across p and q with 3 ohm in place of 6: 12·(2/3 − 1/2) = 2 V behind 2/3 + 3/2 ohm
    assert bridge(3.0).currents["r4"] == pytest.approx(2 / (2 / 3 + 3 / 2 + 5), rel=1e-13)


@given(volts, st.floats(1e-3, 10), st.floats(1e-6, 1))
def test_a_power_load_stands_on_the_upper_branch(u, r, share):
    """U_load = (U + sqrt(U² − 4RP))/2, never below half of U."""
    most = u * u / (4 * r)
    point = solve([Source("b", "x", "0", u, r), PowerLoad("p", "x", "0", share * most)])
    expected = (u + math.sqrt(u * u - 4 * r * share * most if share < 1 else 0)) / 2
    assert point.voltages["x"] == pytest.approx(expected, rel=1e-7 if share > 0.999 else 1e-10)
    assert point.voltages["x"] >= u / 2 * (1 - 1e-6)


@given(volts, st.floats(1e-2, 10), st.floats(1.000001, 100))
def test_more_than_the_most_is_refused_with_the_most(u, r, times):
    """At most U²/4R can be drawn, at U/2."""
    most = u * u / (4 * r)
    with pytest.raises(TooMuchPower) as refused:
        solve([Source("b", "x", "0", u, r), PowerLoad("charger", "x", "0", times * most)])
    assert refused.value.load == "charger"
    assert refused.value.most == pytest.approx(most, rel=1e-9)
    assert refused.value.voltage == pytest.approx(u / 2, rel=1e-9)
    assert refused.value.share == pytest.approx(1 / times, rel=1e-9)
    assert refused.value.asked == pytest.approx(times * most, rel=1e-12)


def test_two_equal_loads_on_one_line_collapse_together():
    """Two loads of P at one node are one of 2P: together U²/4R, each half of it."""
    parts = [Source("b", "x", "0", 12, 0.1), PowerLoad("p", "x", "0", 200), PowerLoad("q", "x", "0", 200)]
    with pytest.raises(TooMuchPower) as refused:
        solve(parts)
    assert refused.value.most == pytest.approx(180, rel=1e-12)
    assert refused.value.voltage == pytest.approx(6, rel=1e-9)
    # the other drawing its 200 W: 360 − 200 are left for this one
    assert most_power(parts, "p").power == pytest.approx(160, rel=1e-9)
    assert most_power(parts, "p").voltage == pytest.approx(6, rel=1e-7)


ALTERNATOR = Source("alternator", "post", "0", 14.4, 0.01, limit=60, one_way=True)
BATTERY = Source("battery", "post", "0", 12.6, 0.02)


def test_an_alternator_at_its_limit():
    """It asks to give (14.4 − 12.6)/0.03 = 60 A with nothing else on; any load beyond that comes from the battery."""
    point = solve([ALTERNATOR, BATTERY, CurrentLoad("fan", "post", "0", 90)])
    assert point.states == {"alternator": "limited", "battery": "holds"}
    assert point.currents["alternator"] == 60
    assert point.currents["battery"] == pytest.approx(30, rel=1e-12)
    assert point.voltages["post"] == pytest.approx(12.6 - 0.6, rel=1e-13)
    assert point.balances


def test_an_alternator_below_its_limit():
    point = solve([replace(ALTERNATOR, limit=100), BATTERY])
    assert point.states["alternator"] == "holds"
    assert point.currents["battery"] == pytest.approx(-60, rel=1e-12)


def test_an_alternator_takes_nothing_in():
    """Solar lifts the post above what the regulator holds: the rectifier blocks."""
    point = solve([ALTERNATOR, replace(BATTERY, voltage=14.3), CurrentLoad("solar", "post", "0", -20)])
    assert point.states["alternator"] == "blocked"
    assert point.currents["alternator"] == 0
    assert point.voltages["post"] == pytest.approx(14.3 + 0.4, rel=1e-13)


def test_a_blocked_source_helps_once_a_load_pulls_the_voltage_down():
    """With the alternator still blocked this battery could bring 12.6²/0.08 only; what it blocks is no bound."""
    weak = replace(BATTERY, voltage=15.0, resistance=0.2)
    point = solve([ALTERNATOR, weak, PowerLoad("inverter", "post", "0", 600)])
    assert 15.0**2 / 0.8 < 600
    assert point.states["alternator"] == "holds"
    assert point.balances


def test_a_source_that_was_blocked_catches_a_voltage_that_falls():
    """One source at its limit has nothing left: the voltage falls from 14 V until a second one begins to give.

    60 A at 14 V are 840 W; below 13 V the second source gives, and (13 − U)/0.01 + 60 A at U carry 900 W at 12.90 V.
    """
    first = Source("first", "post", "0", 14.6, 0.01, limit=60, one_way=True)
    second = Source("second", "post", "0", 13.0, 0.01, one_way=True)
    assert solve([first, second, PowerLoad("heater", "post", "0", 839)]).voltages["post"] > 14
    point = solve([first, second, PowerLoad("heater", "post", "0", 900)])
    assert point.states == {"first": "limited", "second": "holds", "heater": "full"}
    # U·(60 + (13 − U)/0.01) = 900: U² − 13.6·U + 9 = 0
    assert point.voltages["post"] == pytest.approx(6.8 + math.sqrt(6.8**2 - 9), rel=1e-12)


def test_an_alternator_alone_that_cannot_bring_a_current():
    with pytest.raises(TooMuchCurrent) as refused:
        solve([ALTERNATOR, CurrentLoad("winch", "post", "0", 61)])
    assert refused.value.sources == ("alternator",)


def test_an_alternator_alone_that_cannot_bring_a_power():
    """At its limit it stands at 14.4 − 0.6 = 13.8 V: 828 W, and the voltage falls away at one watt more."""
    assert solve([ALTERNATOR, PowerLoad("heater", "post", "0", 827.999)]).voltages["post"] == pytest.approx(
        13.8, rel=1e-5
    )
    with pytest.raises(TooMuchPower) as refused:
        solve([ALTERNATOR, PowerLoad("heater", "post", "0", 900)])
    assert refused.value.most == pytest.approx(828, rel=1e-9)
    assert refused.value.voltage == pytest.approx(13.8, rel=1e-6)


def test_a_converter_draws_its_losses_too():
    """200 W out at 80 %, 5 W idle: 255 W in, of which 55 W are heat."""
    point = solve([Source("b", "x", "0", 12, 0), PowerLoad("charger", "x", "0", 200, efficiency=0.8, idle=5)])
    assert point.powers["charger"] == pytest.approx(255, rel=1e-13)
    assert point.useful["charger"] == 200
    assert point.losses["charger"] == pytest.approx(55, rel=1e-12)


def test_a_converter_at_its_limit_gives_less():
    """At 20 A through 0.05 ohm it stands at 11 V: 220 W in, (220 − 5)·0.8 = 172 W out."""
    parts = [Source("b", "x", "0", 12, 0.05), PowerLoad("charger", "x", "0", 200, efficiency=0.8, idle=5, limit=20)]
    point = solve(parts)
    assert point.states["charger"] == "limited"
    assert point.currents["charger"] == 20
    assert point.useful["charger"] == pytest.approx(172, rel=1e-12)
    assert most_power(parts, "charger").power == pytest.approx(220, rel=1e-12)


def test_a_limit_saves_a_converter_from_collapse():
    """Without it 12 V behind 0.5 ohm bring 72 W; at 10 A they bring 70 W, and the converter lives on them."""
    parts = [Source("b", "x", "0", 12, 0.5), PowerLoad("charger", "x", "0", 100, limit=10)]
    assert solve(parts).powers["charger"] == pytest.approx(70, rel=1e-12)
    for limit in (None, 20):
        with pytest.raises(TooMuchPower) as refused:
            solve([parts[0], replace(parts[1], limit=limit)])
        assert refused.value.most == pytest.approx(72, rel=1e-12)


def test_a_source_of_power_lifts_the_voltage():
    """A solar controller that gives 100 W: U² − 12·U − 0.1·100 = 0."""
    point = solve([Source("b", "x", "0", 12, 0.1), PowerLoad("solar", "x", "0", -100)])
    assert point.voltages["x"] == pytest.approx(6 + math.sqrt(46), rel=1e-13)
    assert point.balances


def test_switches():
    relay = Switch("relay", "x", "y", True)
    parts = [Source("a", "x", "0", 14, 0.01), Source("b", "y", "0", 12, 0.01), relay]
    assert solve(parts).currents["relay"] == pytest.approx(100, rel=1e-12)
    assert solve([*parts[:2], replace(relay, closed=False)]).currents["relay"] == 0
    assert solve([*parts[:2], replace(relay, resistance=0.02)]).currents["relay"] == pytest.approx(50, rel=1e-12)


# Laws


@given(seeds)
def test_kirchhoff_ohm_and_energy(seed):
    for parts in (linear(seed), powered(seed)):
        point = solve(parts)
        assert left_over(parts, point) < 1e-9
        assert point.balances
        obeys_ohm(parts, point)


@given(seeds)
def test_loads_anywhere_obey_the_laws_or_are_refused(seed):
    """Loads in series and across the drop of others, and a source of constant power among them."""
    rng = random.Random(seed)
    parts = grid(rng, rng.randint(3, 12), rng.randint(1, 3), 1)
    assume(max(solve(parts).voltages.values()) > 1)
    try:
        parts = with_power(rng, parts, rng.randint(2, 4), (0.2, 0.9), True)
        parts.append(PowerLoad("solar", "n1", "0", -rng.uniform(1, 100)))
        point = solve(parts)
    except TooMuchPower as refused:
        assert 0 <= refused.share < 1 and math.isfinite(refused.most)
        return
    assert left_over(parts, point) < 1e-9 and point.balances
    obeys_ohm(parts, point)


@given(seeds)
def test_all_that_is_drawn_is_useful_or_heat(seed):
    parts = powered(seed)
    point = solve(parts)
    gross = sum(map(abs, point.powers.values()))
    inside = sum(e.voltage * point.currents[e.name] for e in parts if isinstance(e, Source))
    drawn = sum(point.powers[e.name] for e in parts if isinstance(e, CurrentLoad))
    assert inside == pytest.approx(point.loss + drawn + sum(point.useful.values()), abs=1e-9 * gross)


@given(seeds)
def test_superposition(seed):
    parts = linear(seed)

    def only(name):
        return [
            replace(e, voltage=0.0) if isinstance(e, Source) and e.name != name
            else replace(e, current=0.0) if isinstance(e, CurrentLoad) and e.name != name
            else e
            for e in parts
        ]  # fmt: skip

    alone = [solve(only(e.name)).voltages for e in parts if isinstance(e, Source | CurrentLoad)]
    scale = max(abs(v) for one in alone for v in one.values())
    for node, u in solve(parts).voltages.items():
        assert u == pytest.approx(sum(one[node] for one in alone), abs=1e-10 * scale)


@given(seeds, st.floats(0.1, 10), st.floats(0.1, 10))
def test_scaling(seed, k, m):
    """Voltages by k and resistances by m: currents by k/m, powers by k²/m, the network is the same."""
    parts = powered(seed, (0.2, 0.9))
    assume(all(k * k / m * e.power < network.LARGEST for e in parts if isinstance(e, PowerLoad)))
    scaled = [
        replace(e, voltage=k * e.voltage, resistance=m * e.resistance) if isinstance(e, Source)
        else replace(e, current=k / m * e.current) if isinstance(e, CurrentLoad)
        else replace(e, power=k * k / m * e.power) if isinstance(e, PowerLoad)
        else replace(e, resistance=m * e.resistance)
        for e in parts
    ]  # fmt: skip
    one, other = solve(parts), solve(scaled)
    top = max(map(abs, one.voltages.values()))
    for node, u in one.voltages.items():
        assert other.voltages[node] == pytest.approx(k * u, abs=1e-9 * k * top)


@given(seeds, st.randoms(use_true_random=False))
def test_the_order_of_parts_changes_nothing(seed, rng):
    parts = powered(seed, (0.2, 0.9))
    mixed = rng.sample(parts, len(parts))
    one, other = solve(parts), solve(mixed)
    top = max(map(abs, one.voltages.values()))
    for node, u in one.voltages.items():
        assert other.voltages[node] == pytest.approx(u, abs=1e-9 * top)


@given(seeds)
def test_the_same_network_gives_the_same_answer_to_the_last_figure(seed):
    parts = powered(seed)
    assert solve(parts) == solve(list(parts))


@given(seeds)
def test_another_ground_moves_every_voltage_alike(seed):
    parts = powered(seed, (0.2, 0.9))
    one = solve(parts)
    other = solve(parts, ground="n1")
    top = max(map(abs, one.voltages.values()))
    for node in one.voltages:
        assert other.voltages[node] == pytest.approx(one.between(node, "n1"), abs=1e-9 * top)


def total_resistance(parts, node):
    """Return what a current of 1 A meets from ground to a node, every source being a plain resistance."""
    passive = [e for e in parts if isinstance(e, Resistance)]
    return solve([*passive, CurrentLoad("probe", "0", node, 1.0)]).voltages[node]


@given(seeds, st.floats(1e-3, 1e3))
def test_one_more_resistance_never_raises_the_total(seed, more):
    parts = linear(seed)
    rng = random.Random(seed)
    nodes = sorted(solve(parts).voltages)
    one, other = rng.sample(nodes, 2)
    before = total_resistance(parts, "n1")
    after = total_resistance([*parts, Resistance("more", one, other, more)], "n1")
    assert after <= before * (1 + 1e-9)


@given(seeds, st.floats(0, 5))
def test_more_load_never_raises_a_voltage_where_one_source_feeds_all(seed, more):
    rng = random.Random(seed)
    parts = [e for e in linear(seed) if isinstance(e, Resistance)] + [Source("b", "n1", "0", 12.6, 0.01)]
    nodes = sorted(set(solve(parts).voltages) - {"0"})
    loads = [CurrentLoad("i", rng.choice(nodes), "0", 0.1), PowerLoad("p", rng.choice(nodes), "0", 0.01)]
    try:
        before = solve([*parts, *loads])
        heavier = [replace(loads[0], current=0.1 + more / 10), replace(loads[1], power=0.01 + more / 100)]
        after = solve([*parts, *heavier])
    except TooMuchPower:
        return
    for node in before.voltages:
        assert after.voltages[node] <= before.voltages[node] + 1e-10


# The most that can be drawn


@given(seeds)
def test_the_most_can_be_drawn_and_no_more(seed):
    parts = powered(seed)
    load = parts[-1]
    most = most_power(parts, load.name)
    assume(1e-6 < most.power < 1e6)
    assert most.power == pytest.approx(most.voltage * most.current, rel=1e-12)
    near = solve([*parts[:-1], replace(load, power=most.power * (1 - 1e-7))])
    assert near.between(load.plus, load.minus) == pytest.approx(most.voltage, rel=2e-2)
    with pytest.raises(TooMuchPower):
        solve([*parts[:-1], replace(load, power=most.power * (1 + 1e-7))])


@given(seeds, st.floats(1.2, 50))
def test_all_loads_cut_by_the_share_can_be_fed_and_no_more(seed, times):
    parts = powered(seed, (0.9, 0.95))
    assume(all(times * e.power < network.LARGEST for e in parts if isinstance(e, PowerLoad)))
    greedy = [replace(e, power=times * e.power) if isinstance(e, PowerLoad) else e for e in parts]
    assume(sum(isinstance(e, PowerLoad) for e in parts) > 1)
    try:
        solve(greedy)
    except TooMuchPower as refused:
        share, named = refused.share, refused
    else:
        return

    def cut(by):
        return [replace(e, power=by * e.power) if isinstance(e, PowerLoad) else e for e in greedy]

    assert 1 / times * (1 - 1e-9) <= share < 1
    near = solve(cut(share * (1 - 1e-7)))
    load = next(e for e in parts if e.name == named.load)
    assert near.between(load.plus, load.minus) == pytest.approx(named.voltage, rel=2e-2)
    assert named.most == pytest.approx(share * named.asked, rel=1e-12)
    with pytest.raises(TooMuchPower):
        solve(cut(share * (1 + 1e-7)))


@given(seeds)
@settings(max_examples=30)
def test_the_upper_branch_is_the_one_reached_from_no_load(seed):
    """Turned up in small steps the voltages never jump: the same point, so it is on the branch of no load."""
    parts = powered(seed)
    steps = 40
    before = None
    for k in range(steps + 1):
        now = solve([replace(e, power=k / steps * e.power) if isinstance(e, PowerLoad) else e for e in parts]).voltages
        if before:
            fall = max(abs(now[n] - before[n]) for n in now)
            assert fall <= 0.25 * max(map(abs, now.values()))
        before = now


# Limits of current


def limited(seed):
    """Return a linear network in which sources have limits, some of them one-way."""
    rng = random.Random(seed)
    parts = linear(seed, rng.randint(2, 6))
    spare = {"s0"}  # one without a limit, so that there is always an answer
    return [
        replace(e, limit=10 ** rng.uniform(-1, 2), one_way=rng.random() < 0.5)
        if isinstance(e, Source) and e.name not in spare else e
        for e in parts
    ]  # fmt: skip


@given(seeds)
def test_every_limited_source_agrees_with_its_state(seed):
    """A network without power loads has one answer, so a state that agrees everywhere is the answer."""
    parts = limited(seed)
    point = solve(parts)
    assert point.balances and left_over(parts, point) < 1e-9
    for e in (e for e in parts if isinstance(e, Source)):
        current, u = point.currents[e.name], point.between(e.plus, e.minus)
        asks = e.voltage - current * e.resistance - u
        if point.states[e.name] == "limited":
            assert current == e.limit and asks >= -1e-9
        elif point.states[e.name] == "blocked":
            assert e.one_way and current == 0 and asks <= 1e-9
        else:
            assert asks == pytest.approx(0, abs=1e-9)
            assert current <= (e.limit or math.inf) * (1 + 1e-9) + 1e-9
            assert current >= -1e-9 or not e.one_way


@given(seeds, st.floats(0.05, 1.5))
def test_limits_and_power_loads_agree_or_are_refused(seed, share):
    parts = limited(seed)
    rest = solve(parts)
    node = max(rest.voltages, key=rest.voltages.get)
    assume(rest.voltages[node] > 1)
    load = PowerLoad("p", node, "0", 1.0, limit=50)
    most = most_power([*parts, replace(load, limit=None)], "p").power
    assume(most > 1e-6)
    for tried in (replace(load, power=share * most, limit=None), replace(load, power=share * most)):
        try:
            point = solve([*parts, tried])
        except TooMuchPower as refused:
            assert share > 0.999 and refused.most <= most * 1.001  # a one-way source is looked for in such steps
            continue
        assert point.balances and left_over([*parts, tried], point) < 1e-9
        assert share < 1.001 or point.states["p"] == "limited"
        assert point.currents["p"] <= (tried.limit or math.inf) * (1 + 1e-9)


# Heat


@given(st.floats(0, 100), st.floats(0.5, 20), st.sampled_from(["2.5", "6", "16", "35"]), st.floats(-20, 60))
def test_a_warm_cable_is_as_warm_as_its_current_makes_it(current, length, size, ambient):
    size = metric(float(size))
    wire = cable_run("out", "post", "load", size, length, 105, ambient)
    point = solve([Source("b", "post", "0", 12.6, 0.01), wire, CurrentLoad("l", "load", "0", current)])
    base = cable.table_current(size.copper, 105)
    warm = cable.conductor_temperature(current, base, 105, ambient)
    assert point.temperatures["out"] == pytest.approx(min(network.HOTTEST, warm), rel=1e-9, abs=1e-9)
    assert (point.overheated == ("out",)) == (warm >= network.HOTTEST)
    resistance = cable.length_resistance(size.resistance_per_km, length, point.temperatures["out"])
    assert point.between("post", "load") == pytest.approx(current * resistance, rel=1e-9, abs=1e-11)


@given(st.floats(0.5, 20), st.sampled_from(["1.5", "2.5", "6", "16", "35"]), st.floats(-20, 60), st.floats(0, 0.5))
def test_the_heat_of_a_shorted_cable_settles(length, size, ambient, fault):
    """Where the voltage drives, a hotter cable lets less through: the two swing, and have to come to rest."""
    size = metric(float(size))
    wires = [
        cable_run("out", "post", "x", size, length, 75, ambient),
        cable_run("back", "y", "0", size, length, 105, 20),
    ]
    parts = [Source("b", "post", "0", 12.6, 0.01), *wires, Resistance("fault", "x", "y", fault)]
    point = solve(parts)
    assert point.balances
    for wire in wires:
        warm = cable.conductor_temperature(point.currents["out"], wire.base_current, wire.insulation, wire.ambient)
        assert point.temperatures[wire.name] == pytest.approx(min(network.HOTTEST, warm), rel=1e-6)


@given(st.floats(0.01, 0.99), st.floats(0.5, 20), st.sampled_from(["2.5", "6", "16"]))
def test_a_warm_cable_brings_a_power_load_less(share, length, size):
    size = metric(float(size))
    wire = cable_run("out", "post", "load", size, length, 105, 30)
    source = Source("b", "post", "0", 12.6, 0.02)
    cold, warm = [source, replace(wire, base_current=None)], [source, wire]
    load = PowerLoad("p", "load", "0", 0.0)
    most = most_power([*warm, load], "p").power
    assert most <= most_power([*cold, load], "p").power
    one, other = (solve([*run, replace(load, power=share * most)]).voltages["load"] for run in (cold, warm))
    assert other <= one


def test_a_run_is_the_same_as_the_check_of_a_cable_says():
    """Out, back and eight joints as parts of a network: the volts that the check of a cable answers."""
    answer = calc.run("cable-drop", {"current": 25, "length": 6, "size": "16 mm2", "supply": 13.8, "joints": 4})
    size = metric(16)
    there, back = (cable_run(n, *e, size, 6, *AS_ASKED) for n, e in (("out", ("p", "q")), ("back", ("s", "0"))))
    joints = Resistance("joints", "q", "r", 4 * assumption("joint_resistance")["value"])
    point = solve([Source("b", "p", "0", 13.8, 0), there, joints, CurrentLoad("load", "r", "s", 25), back])
    assert point.between("r", "s") == pytest.approx(answer.values["far_end_voltage"].value, rel=1e-12)
    assert point.temperatures["out"] == pytest.approx(answer.values["conductor_temperature"].value, rel=1e-9)


def asked_of_cable_drop():
    """Return insulation and ambient as the check of a cable takes them where nothing is said."""
    found = calc.run("cable-drop", {"current": 25, "length": 6}).to_dict()["inputs"]
    return found["insulation"]["value"], found["ambient"]["value"]


AS_ASKED = asked_of_cable_drop()


# What cannot be


def test_floating_nodes_are_named():
    parts = [Source("b", "x", "0", 12, 0), Switch("relay", "x", "y", False), PowerLoad("fridge", "y", "0", 10)]
    with pytest.raises(FloatingNodes) as refused:
        solve([*parts, Resistance("r", "y", "z", 1)])
    assert refused.value.nodes == ("y", "z")
    assert "y, z" in str(refused.value)


R = Resistance("r", "x", "0", 1)
B = Source("b", "x", "0", 12, 0.1)
IMPOSSIBLE = [
    (lambda: Resistance("r", "x", "x", 1), "both ends"),
    (lambda: Resistance("r", "x", "0", -1), "resistance=-1"),
    (lambda: Resistance("r", "x", "0", math.nan), "resistance=nan"),
    (lambda: Resistance("r", "x", "0", math.inf), "resistance=inf"),
    (lambda: Resistance("r", "x", "0", "1"), "resistance='1'"),
    (lambda: Resistance("", "x", "0", 1), "not empty"),
    (lambda: Resistance("r", "", "0", 1), "not empty"),
    (lambda: Resistance("r", 1, "0", 1), "not empty"),
    (lambda: Source("b", "x", "0", 1e7, 0), "voltage=10000000.0"),
    (lambda: Source("b", "x", "0", 12, 0, limit=0), "limit=0"),
    (lambda: CurrentLoad("i", "x", "0", math.inf), "current=inf"),
    (lambda: PowerLoad("p", "x", "0", 10, efficiency=0), "efficiency=0"),
    (lambda: PowerLoad("p", "x", "0", 10, efficiency=1.1), "efficiency=1.1"),
    (lambda: PowerLoad("p", "x", "0", 10, idle=-1), "idle=-1"),
    (lambda: PowerLoad("p", "x", "0", -10, efficiency=0.9), "takes no efficiency"),
    (lambda: Cable("c", "x", "0", 0.1, ambient=400), "ambient=400"),
    (lambda: Cable("c", "x", "0", 0.1, base_current=0), "base_current=0"),
    (lambda: Cable("c", "x", "0", 0.1, base_current=50, insulation=20), "insulation=20"),
    (lambda: solve([]), "ground"),
    (lambda: solve([Resistance("r", "x", "y", 1)]), "ground"),
    (lambda: solve([R, R]), "two elements are named r"),
    (lambda: solve([B, Switch("s", "x", "y", True), Switch("t", "y", "x", True), R]), "t closes a loop"),
    (lambda: solve([Source("a", "x", "0", 12, 0), Source("c", "x", "0", 13, 0)]), "c closes a loop"),
    (lambda: solve([B, CurrentLoad("i", "x", "y", 1)]), "ties these to ground: y"),
]


@pytest.mark.parametrize(("attempt", "words"), IMPOSSIBLE)
def test_the_impossible_is_refused_and_named(attempt, words):
    with pytest.raises(ValueError, match=words):
        attempt()


def test_an_unknown_load_is_refused():
    with pytest.raises(KeyError, match="fridge"):
        most_power([B], "fridge")


def test_a_load_with_no_voltage_can_draw_nothing():
    with pytest.raises(TooMuchPower) as refused:
        solve([R, PowerLoad("p", "x", "0", 1)])
    assert (refused.value.most, refused.value.share) == (0, 0)
    assert most_power([R, PowerLoad("p", "x", "0", 1)], "p").power == 0


def test_two_loads_with_no_voltage_beside_a_blocked_source_can_draw_nothing():
    """Every way of looking for a point starts from the voltages without load, and here these are nought."""
    dead = [R, Source("s", "x", "0", -1, 0.1, one_way=True), Resistance("q", "x", "y", 1)]
    loads = [PowerLoad("p", "x", "0", 1), PowerLoad("c", "y", "x", 1), PowerLoad("i", "y", "0", 1)]
    with pytest.raises(TooMuchPower) as refused:
        solve([*dead, *loads])
    assert refused.value.share == 0


def test_most_power_names_the_others_where_they_are_too_much_already():
    with pytest.raises(TooMuchPower) as refused:
        most_power([B, PowerLoad("p", "x", "0", 1), PowerLoad("q", "x", "0", 1000)], "p")
    assert refused.value.load == "q"
    assert refused.value.most == pytest.approx(360)


EXTREME = st.one_of(st.sampled_from([0.0, 1e-12, 1e-9, 1e-6, 1e-3, 1.0, 1e3, 1e6]), st.floats(0, 1e6))
NODES = st.sampled_from(["0", "a", "b", "c"])
ANY = st.one_of(
    st.tuples(st.just(Resistance), NODES, NODES, EXTREME),
    st.tuples(st.just(Switch), NODES, NODES, st.booleans(), EXTREME),
    st.tuples(st.just(Source), NODES, NODES, EXTREME, EXTREME, st.one_of(st.none(), EXTREME), st.booleans()),
    st.tuples(st.just(CurrentLoad), NODES, NODES, EXTREME),
    st.tuples(st.just(PowerLoad), NODES, NODES, EXTREME, st.just(1.0), EXTREME, st.one_of(st.none(), EXTREME)),
    st.tuples(st.just(PowerLoad), NODES, NODES, EXTREME.map(lambda w: -w)),
    st.tuples(st.just(Cable), NODES, NODES, EXTREME, st.just(40.0), EXTREME, st.just(105.0)),
)


@given(st.lists(ANY, min_size=1, max_size=8))
def test_whatever_is_joined_gives_finite_numbers_or_is_refused(described):
    try:
        parts = [kind(f"e{k}", *rest) for k, (kind, *rest) in enumerate(described)]
        point = solve(parts)
    except (ValueError, NoSolution):
        return
    for numbers in (point.voltages, point.currents, point.powers, point.losses, point.temperatures, point.useful):
        assert all(map(math.isfinite, numbers.values()))
