"""A trip: scenarios that a person knows, energy on random trips, and every voltage held to the network solver."""

import math
import random
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from calc.physics import charger, network, sun, trip
from calc.physics import vehicle as at
from calc.physics.alternator import alternator
from calc.physics.battery import Battery
from calc.physics.loads import steady
from calc.physics.starting import Starter
from calc.physics.trip import EVENTS, Consumer, Leg, Link, Run, Start, Vehicle, simulate
from calc.physics.vehicle import CHARGING, EASED, HOLDS, INPUT, LIMITED, RATED, RESTING, Law
from tests.calc import trips

BALANCE = 1e-6
"""Energy left over, as a share of all that moved."""

ROUNDING = 1e-5
"""Energy left over where next to nothing moved: some hundreds of sums of voltage, current and hours [Wh]."""

PLAIN = {"panels": (), "solar": None, "mains": None}


def times(run: Run, key: str, name: str = "") -> list[float]:
    """Return when something happened."""
    return [event.time for event in run.events if event.key == key and name in ("", event.name)]


def at_time(run: Run, hours: float):
    """Return the first point at or after a time."""
    return next(point for point in run.points if point.time >= hours)


def lasting(kind: str, hours: float, **more) -> Leg:
    """Return a leg in steady air, without overrun and idling."""
    return Leg(kind, hours, **({"coldest": 25, "hottest": 25, "overrun": 0, "idling": 0} | more))


# Scenarios


@pytest.mark.parametrize(("amperes", "hours"), [(5, 20), (10, None), (20, None)])
def test_a_battery_box_alone_lasts_as_its_capacity_says(amperes, hours):
    """5 A from 100 Ah last 20 h, which is what the label says; other currents as Peukert's 1.1 says, to 3 %."""
    lamps = (Consumer("Lamps", steady(amperes)),)
    box = Vehicle(Battery("calcium", 70), Battery("agm", 100), Link("none"), consumers=lamps)
    run = simulate(box, [lasting("camp", 80)])
    expected = hours or 20 * (5 / amperes) ** 1.1
    assert times(run, "battery_empty", "second")[0] == pytest.approx(expected, rel=0.005 if hours else 0.03)


def test_a_fixed_alternator_through_a_long_cable_never_quite_fills_an_agm_battery():
    """14.0 V, a relay and 40 mΩ; a charger at the battery that holds 14.5 V gets further in the same eight hours."""
    poor = trips.vehicle("relay", **PLAIN, alternator=alternator("fixed", 14.0, 90, 30))
    poor = replace(poor, link=replace(poor.link, resistance=0.04))
    profile = charger.profile("agm", 100, False)
    good = replace(poor, link=trips.link("charger", profile, resistance=0.04))
    legs, start = [lasting("drive", 8)], Start(100, 50)
    weak, strong = simulate(poor, legs, start), simulate(good, legs, start)
    assert at_time(weak, 8).second < 97
    assert at_time(strong, 4).second > at_time(weak, 4).second + 1
    assert at_time(strong, 8).second > at_time(weak, 8).second + 1
    assert max(p.second_volts for p in weak.points) < 14.0
    assert max(p.second_volts for p in strong.points) == pytest.approx(14.5, abs=1e-6)


def test_behind_a_smart_alternator_a_relay_opens_while_driving_and_a_charger_with_its_wire_does_not():
    """It rests at 12.5 V, the relay opens at 12.8 V, and the fridge runs the second battery down; a charger goes on.

    Only once the starter battery has fallen to 75 % does the alternator rise, and the relay close, again.
    """
    relay = trips.vehicle("relay", kind="smart", **PLAIN)
    wired = trips.vehicle("charger", kind="smart", **PLAIN)
    legs, start = [lasting("drive", 10)], Start(95, 90, hour=9)
    with_relay, with_charger = simulate(relay, legs, start), simulate(wired, legs, start)
    opened = times(with_relay, "relay_opens")
    assert opened and times(with_relay, "alternator_rests")[0] < opened[0] < 3
    again = next(time for time in times(with_relay, "relay_closes") if time > opened[0])
    assert any(again - 0.1 < rises < again for rises in times(with_relay, "alternator_rises"))
    assert at_time(with_relay, again).starter == pytest.approx(75, abs=0.1)
    assert at_time(with_relay, again).second < at_time(with_relay, opened[0]).second - 3
    assert not times(with_charger, "charger_stops")
    assert at_time(with_charger, 10).second > 95


def test_overrun_lifts_a_smart_alternator_and_closes_the_relay_again():
    run = simulate(trips.vehicle("relay", kind="smart", **PLAIN), [lasting("drive", 5, overrun=0.2)], Start(95, 70))
    assert len(times(run, "alternator_rises")) > 10
    assert len(times(run, "relay_closes")) > 5


@pytest.mark.parametrize(("left_on", "starts"), [(True, False), (False, True)])
def test_a_switch_left_on_at_camp_flattens_both(left_on, starts):
    made = trips.vehicle("switch", **PLAIN)
    made = replace(made, link=replace(made.link, left_on=left_on))
    run = simulate(made, [lasting("camp", 96), lasting("drive", 1)], Start(100, 100))
    assert times(run, "consumer_cut", "Fridge") or times(run, "battery_empty", "second")
    assert bool(times(run, "engine_starts")) is starts
    assert bool(times(run, "engine_would_not_start")) is not starts
    assert (run.lowest("starter")[1] < 20) is left_on


def test_a_charger_near_the_battery_makes_up_for_cable_loss_that_a_relay_cannot():
    """Through 30 mΩ the relay's battery is below the charger's after four hours, and its voltage never was as high."""
    runs = {}
    for way in ("relay", "charger"):
        made = trips.vehicle(way, **PLAIN)
        made = replace(made, link=replace(made.link, resistance=0.03))
        runs[way] = simulate(made, [lasting("drive", 4)], Start(100, 70))
    assert at_time(runs["charger"], 4).second > at_time(runs["relay"], 4).second + 2
    most = {way: max(p.second_volts for p in run.points) for way, run in runs.items()}
    assert most["relay"] < 14.2 < most["charger"]


def test_a_relay_lets_go_once_the_surface_of_both_batteries_has_decayed():
    """The engine stops at 3 h; the relay opens below 12.8 V, minutes to hours later, and not at once."""
    made = trips.vehicle("relay", **PLAIN, consumers=())
    run = simulate(made, [lasting("drive", 3), lasting("camp", 12)], Start(100, 90))
    (opened,) = times(run, "relay_opens")
    assert opened > 3.05
    assert at_time(run, opened - trips.DELAY).starter_volts == pytest.approx(12.8, abs=0.001)


@pytest.mark.parametrize(("air", "charges"), [(30, True), (49, True), (54, False)])
def test_a_charge_tapers_as_a_lead_acid_battery_nears_50_degrees_and_stops_there(air, charges):
    """With a sensor: all it can up to 43 °C, none at 50 °C, straight between (a tractor maker's manual, and practice).

    What makes gas, up to 0.3 A, is not in the current of the main reaction.
    """
    profile = charger.profile("agm", 100, True)
    made = trips.vehicle("none", **(PLAIN | {"mains": charger.Charger(40, profile)}), consumers=())
    run = simulate(made, [lasting("plugged", 3, coldest=air, hottest=air)], Start(100, 20))
    most = max(p.second_amperes for p in run.points)
    expected = min(40, 100 * max(0, min(1, (50 - air) / 7)))
    assert expected - 0.3 < most <= expected + 1e-6
    assert (at_time(run, 3).second > 20.1) is charges


@pytest.mark.parametrize(("air", "charges"), [(-5, False), (5, True), (44, True), (48, False)])
def test_a_lithium_battery_takes_no_charge_in_cold_or_heat(air, charges):
    run = simulate(trips.vehicle("none", "lfp", panels=(), solar=None, consumers=()),
                   [lasting("plugged", 2, coldest=air, hottest=air)], Start(100, 30))  # fmt: skip
    assert bool(times(run, "charge_refused")) is not charges
    assert (at_time(run, 2).second > 40) is charges


@pytest.mark.parametrize(("air", "amperes"), [(-1, 0), (2, 10), (7, 20), (12, 40)])
def test_a_charger_with_a_sensor_gives_a_cold_lithium_battery_what_cell_sheets_allow(air, amperes):
    """40 A into 100 Ah: a tenth of its capacity's number below 5 °C, a fifth below 10 °C, none below 0 °C."""
    profile = charger.profile("lfp", 100, True)
    made = trips.vehicle("none", "lfp", **(PLAIN | {"mains": charger.Charger(40, profile)}), consumers=())
    run = simulate(made, [lasting("plugged", 0.5, coldest=air, hottest=air)], Start(100, 30))
    assert run.points[1].second_amperes == pytest.approx(amperes / (1 + made.second.gas_share), abs=1e-6)


def test_a_cold_lithium_battery_is_charged_faster_once_it_has_warmed():
    profile = charger.profile("lfp", 100, True)
    made = trips.vehicle("none", "lfp", **(PLAIN | {"mains": charger.Charger(40, profile)}), consumers=())
    run = simulate(made, [lasting("plugged", 12, coldest=4.5, hottest=16)], Start(100, 5, hour=3))
    turns = [p for p, q in zip(run.points, run.points[1:], strict=False) if q.second_amperes > p.second_amperes + 5]
    assert [round(p.temperature, 4) for p in turns] == [5, 10]


def test_the_stages_of_a_mains_charger_follow_each_other():
    run = simulate(trips.vehicle("none", panels=(), solar=None), [lasting("plugged", 24)], Start(100, 50))
    stages = [event.key for event in run.events if event.name == "mains"]
    assert stages == ["stage_bulk", "stage_absorption", "stage_float"]
    assert run.points[-1].second_volts == pytest.approx(13.65, abs=1e-6)


def test_an_evening_s_little_sun_does_not_count_as_a_full_battery():
    """The sun fades below the tail long before the battery is full; only the longest time ends the absorption."""
    made = trips.vehicle("none", mains=None, consumers=())
    profile = made.solar.profile
    run = simulate(made, [lasting("camp", 5, eighths=0)], Start(100, 88, hour=16))
    ends = times(run, "stage_absorption")[0] + profile.longest
    assert times(run, "stage_float") == [pytest.approx(ends, abs=1e-5)]
    assert at_time(run, ends - 0.5).second_amperes < profile.tail and at_time(run, ends - 0.5).second < 98


def test_the_sun_shines_between_sunrise_and_sunset_only():
    made = trips.vehicle("none", mains=None)
    run = simulate(made, [lasting("camp", 48, eighths=0)], Start(100, 60, hour=0))
    day = sun.day(50, 172, 0, made.panels)
    assert times(run, "sun_rises")[0] == pytest.approx(day.rises, abs=1e-5)
    assert times(run, "sun_sets")[0] == pytest.approx(day.sets, abs=1e-5)
    assert run.offered >= run.sources["sun"] > 0
    assert run.offered == pytest.approx(2 * sun.energy(day, 25), rel=0.01)


@pytest.mark.parametrize(("latitude", "day", "shines"), [(75, 172, True), (75, 355, False), (-75, 355, True)])
def test_polar_day_and_night(latitude, day, shines):
    made = replace(trips.vehicle("none", mains=None), latitude=latitude)
    run = simulate(made, [lasting("camp", 72, eighths=0)], Start(100, 60, day=day))
    assert (run.sources["sun"] > 0) is shines
    assert len(times(run, "sun_rises")) <= 1


def test_a_fridge_cuts_out_to_spare_the_battery_and_comes_back_with_the_sun():
    run = simulate(trips.vehicle("none", mains=None), [lasting("camp", 60, eighths=0)], Start(100, 12, hour=20))
    cut, back = times(run, "consumer_cut", "Fridge"), times(run, "consumer_back", "Fridge")
    assert cut and back and cut[0] < back[0]


def test_five_loads_take_what_they_should():
    """1.5 A for 4 h, 24 W for 3 h, 500 W behind an inverter for 6 minutes, each once a day: exact where it is power."""
    run = simulate(trips.vehicle("none"), [lasting("plugged", 48)])
    inverter = next(c.load for c in trips.loads() if c.name == "Kettle")
    assert run.consumers["Phones"] == pytest.approx(2 * 72, rel=1e-9)
    assert run.consumers["Kettle"] == pytest.approx(2 * 0.1 * inverter.power, rel=1e-9)
    assert 2 * 6 * 11.5 < run.consumers["Lights"] < 2 * 6 * 14.6
    assert run.consumers["Fridge"] == pytest.approx(48 * 48 * 0.4, rel=1e-6)


def test_where_the_run_ends_early_it_says_so():
    """Every event has a key that is listed, and nothing is a number that is none."""
    run = simulate(trips.vehicle("relay", kind="smart"), trips.WEEK)
    assert {event.key for event in run.events} <= set(EVENTS)
    assert run.hours == sum(leg.hours for leg in trips.WEEK)
    assert all(math.isfinite(number) for p in run.points for number in (p.starter, p.second, p.second_volts))


def test_progress_rises_to_the_end():
    shares = []
    simulate(trips.vehicle("charger"), trips.WEEK, progress=shares.append)
    assert shares == sorted(shares) and shares[0] >= 0 and 0.9 < shares[-1] <= 1


# Properties


batteries = st.builds(
    Battery,
    st.sampled_from(["flooded", "calcium", "agm", "gel", "lfp"]),
    st.floats(20, 400),
    age=st.floats(0, 12),
)
legs = st.lists(
    st.builds(
        lambda kind, hours, eighths, cold, warmer, overrun, idling: Leg(
            kind, hours, eighths, cold, cold + warmer, overrun, idling
        ),
        st.sampled_from(["drive", "stop", "camp", "plugged"]),
        st.floats(1 / 60, 30),
        st.floats(0, 8),
        st.floats(-30, 45),
        st.floats(0, 15),
        st.floats(0, 1),
        st.floats(0, 1),
    ),
    min_size=1,
    max_size=6,
)


@st.composite
def vehicles(draw):
    """Any vehicle."""
    starter, second = draw(batteries.filter(lambda b: b.lead_acid)), draw(batteries)
    sensor = draw(st.booleans())
    profile = charger.profile(draw(st.sampled_from(["flooded", "agm", "gel", "lfp"])), second.capacity, sensor)
    link = trips.link(
        draw(st.sampled_from(trips.WAYS)), profile, draw(st.booleans()), draw(st.floats(0.001, 0.2)),
        left_on=draw(st.booleans()), either=draw(st.booleans()),
    )  # fmt: skip
    return Vehicle(
        starter,
        second,
        link,
        Starter(starter, draw(st.sampled_from(["petrol_small", "diesel_large"]))),
        alternator(draw(st.sampled_from(["fixed", "compensating", "smart"])), draw(st.floats(13, 15)), 90, 30),
        consumers=draw(st.sampled_from([(), trips.loads()])),
        panels=draw(st.sampled_from([(), (sun.Panel(300, 30, 0.1, 0.95),)])),
        solar=charger.Charger(20, profile),
        latitude=draw(st.floats(-80, 80)),
        mains=draw(st.sampled_from([None, charger.Charger(20, profile)])),
        inside_warmer=draw(st.floats(0, 20)),
    )


@settings(max_examples=60, deadline=None, derandomize=True)
@given(vehicles(), legs, st.floats(0, 100), st.floats(0, 100), st.floats(0, 24), st.integers(1, 366))
def test_any_trip_ends_and_its_energy_balances(made, journey, one, other, hour, day):
    run = simulate(made, journey, Start(one, other, hour, day))
    assert run.hours == pytest.approx(sum(leg.hours for leg in journey))
    assert abs(run.imbalance) <= max(BALANCE * run.moved, ROUNDING)
    for p in run.points:
        assert -60 < p.starter < 102 and -60 < p.second < 102
        assert 0.9 < p.second_volts < 60 and 0.9 < p.starter_volts < 60


@settings(max_examples=10, deadline=None, derandomize=True)
@given(st.floats(0.01, 3), st.floats(0.1, 2))
def test_more_load_never_leaves_more(amperes, more):
    """As long as nothing goes off: a load that is cut early, and stays off, leaves a battery more."""
    runs = [
        simulate(trips.vehicle("charger", consumers=(Consumer("Lamps", steady(current)),)), trips.WEEK[:4])
        for current in (amperes, amperes + more)
    ]
    assume(not any(times(run, key) for run in runs for key in ("consumer_off", "consumer_cut", "battery_empty")))
    assert runs[0].points[-1].second >= runs[1].points[-1].second - 1e-6


# Voltages


def network_of(law: Law, state: tuple, seen: tuple) -> list[network.Element]:
    """Return the vehicle as it stands, in the elements of the network solver.

    sides = (
        ("near", "A", vehicle.starter, 0, at.NEAR, at.NEAR_INNER),
        ("far", "B", vehicle.second, 4, at.FAR, at.FAR_INNER),
    )
    beside gas, as without gas that grows there may be a second point far above.
    """
    vehicle = law.vehicle
    parts: list[network.Element] = []
    sides = (
        ("near", "A", vehicle.starter, 0, at.NEAR, at.NEAR_INNER),
        ("far", "B", vehicle.second, 4, at.FAR, at.FAR_INNER),
    )
    for name, node, battery, place, volts, inner in sides:
        stands, (h1, _, _, temperature) = getattr(law, name), state[place : place + 4]
        if stands is RESTING:
            resistance = 1 / at.LEAK
        elif stands is CHARGING:
            resistance = battery.charge_resistance(h1, temperature) / (1 + battery.gas_share)
            gas = battery.gassing(seen[volts], temperature)
            parts.append(network.CurrentLoad(f"{name} gas", node, "0", gas))
        else:
            resistance = battery.discharge_resistance(h1, temperature)
        parts.append(network.Source(f"{name} battery", node, "0", seen[inner], resistance))
    if law.engine and law.alternator:
        parts.append(
            network.Source(
                "alternator",
                "A",
                "0",
                seen[at.ALTERNATOR_HOLDS],
                vehicle.alternator_resistance,
                max(seen[at.ALTERNATOR_LIMIT], 1e-6),
                one_way=True,
            )  # fmt: skip
        )
    watts = {"A": law.near_power, "B": law.far_power}
    for _, is_near, place in law.fridges:
        watts["A" if is_near else "B"] += seen[at.FRIDGE_WATTS + place]
    amperes = {"A": law.near_current, "B": law.far_current}
    for node, battery, stands, volts in (
        ("A", vehicle.starter, law.near, at.NEAR),
        ("B", vehicle.second, law.far, at.FAR),
    ):
        if stands is CHARGING and battery.lead_acid:
            parts.append(network.CurrentLoad(f"watts {node}", node, "0", watts[node] / seen[volts]))
        else:
            parts.append(network.PowerLoad(f"watts {node}", node, "0", watts[node]))
        parts.append(network.CurrentLoad(f"amperes {node}", node, "0", amperes[node]))
    if law.sun in (LIMITED, RATED):
        parts.append(network.CurrentLoad("sun", "B", "0", -seen[at.SUN_AMPERES]))
    if law.mains is RATED:
        parts.append(network.CurrentLoad("mains", "B", "0", -seen[at.MAINS_RATED]))
    held = {law.sun: at.SUN_SET, law.mains: at.MAINS_SET, law.charger: at.CHARGER_SET}.get(HOLDS)
    if held:
        parts.append(network.Source("holder", "B", "0", seen[held], 0.0))
    return parts + link_of(law, seen)


def link_of(law: Law, seen: tuple) -> list[network.Element]:
    """Return what joins the batteries, as it stands."""
    if law.joined:
        return [network.Resistance("link", "A", "B", law.vehicle.link.resistance)]
    dc = law.vehicle.link.charger
    if not law.charger:
        return []
    cable = network.Resistance("cable", "A", "in", law.vehicle.link.resistance)
    given = [] if law.charger is HOLDS else [network.CurrentLoad("given", "B", "0", -seen[at.LINK_OUT])]
    if law.charger is EASED:
        return [cable, network.Source("eased", "in", "0", dc.eases, 0.0), *given]
    if law.charger is INPUT:
        return [cable, network.CurrentLoad("input", "in", "0", dc.input_limit), *given]
    asked = seen[at.FAR] * max(0.0, seen[at.LINK_OUT])
    draws = network.PowerLoad("input", "in", "0", asked, dc.efficiency), network.CurrentLoad("idle", "in", "0", dc.idle)
    return [cable, *draws, *given]


def sampled(made: Vehicle, monkeypatch) -> list[tuple]:
    """Return pairs of a network and what a run found for it, at the end of every step of a week.

    Left out are the ends a hair past an event, and a battery that floats, whose resistance does not count.
    """
    pairs, record = [], trip._Recorder.record

    def watched(self, time, state, totals, seen):
        course, law = self._course, self._course.law
        record(self, time, state, totals, seen)
        if law.far is not at.FLOATING and all(w.value(time, state, seen) >= 0 for w in course.watches):
            pairs.append((network_of(law, state, seen), seen))

    monkeypatch.setattr(trip._Recorder, "record", watched)
    simulate(made, trips.WEEK)
    return pairs


@pytest.mark.parametrize("chemistry", ["agm", "lfp"])
@pytest.mark.parametrize("kind", ["compensating", "smart"])
@pytest.mark.parametrize("way", trips.WAYS)
def test_every_voltage_is_that_of_the_network_solver(way, kind, chemistry, monkeypatch):
    """At the ends of steps through a week, as the vehicle stands then: to 1e-9 V."""
    pairs = sampled(trips.vehicle(way, chemistry, kind, ignition=False), monkeypatch)
    assert len(pairs) > 200
    for parts, seen in pairs:
        try:
            point = network.solve(parts)
        except network.NoSolution:
            assert min(seen[at.NEAR], seen[at.FAR]) == pytest.approx(1.0)
            continue
        assert seen[at.NEAR] == pytest.approx(point.voltages["A"], abs=1e-9)
        assert seen[at.FAR] == pytest.approx(point.voltages["B"], abs=1e-9)


def test_random_points_are_those_of_the_network_solver():
    """A converter at the end of a cable, gas, a load of constant power: a thousand circuits, some at their collapse."""
    from calc.physics.circuit import single

    rng = random.Random(7)
    for _ in range(1000):
        volts, inner, cable = rng.uniform(10, 14), 10 ** rng.uniform(-3, -1), 10 ** rng.uniform(-3, -1)
        watts, asked, idle, amperes = rng.uniform(0, 300), rng.uniform(0, 400), rng.uniform(0, 1), rng.uniform(-10, 30)
        parts = [
            network.Source("b", "A", "0", volts, inner),
            network.CurrentLoad("i", "A", "0", amperes),
            network.PowerLoad("p", "A", "0", watts),
            network.Resistance("r", "A", "in", cable),
            network.PowerLoad("q", "in", "0", asked),
            network.CurrentLoad("idle", "in", "0", idle),
        ]
        found = single((1 / inner, volts / inner - amperes, watts, 0.0, 0.0), asked, idle, cable, rng.uniform(9, 15))
        try:
            expected = network.solve(parts).voltages["A"]
        except network.NoSolution:
            continue
        assert found == pytest.approx(expected, abs=1e-9)
