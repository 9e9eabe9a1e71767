"""From readings to causes: the same whatever the order, honest, and quick to see what a fitter sees."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc.physics.diagnosis import COUNT, LITTLE, diagnose, lattice, particles
from calc.physics.faults import EITHER_SIGN, Vehicle, example_vehicle, places_in
from calc.tables import table

RELAY = example_vehicle("relay")


def odds(taken: dict, v: Vehicle = RELAY) -> dict[str, float]:
    return dict(diagnose(v, taken).odds)


readings = st.dictionaries(
    st.sampled_from(places_in(RELAY)), st.floats(-60, 60) | st.floats(10, 15) | st.floats(0, 0.5), max_size=6
)


@settings(max_examples=40, deadline=None)
@given(readings, st.randoms(use_true_random=False))
def test_any_order_of_the_same_readings_gives_the_same_odds(taken, draw):
    shuffled = list(taken.items())
    draw.shuffle(shuffled)
    assert diagnose(RELAY, dict(shuffled)) == diagnose(RELAY, taken)


@settings(max_examples=40, deadline=None)
@given(readings)
def test_odds_are_shares_of_one_and_gains_are_never_negative(taken):
    d = diagnose(RELAY, taken)
    assert sum(chance for _, chance in d.odds) == pytest.approx(1, abs=1e-9)
    assert all(0 <= chance <= 1 for _, chance in d.odds)
    assert all(gain >= 0 and math.isfinite(gain) for _, gain in d.gains)
    assert not {reading for reading, _ in d.gains} & set(taken)


@settings(max_examples=20, deadline=None)
@given(readings, st.sets(st.sampled_from(places_in(RELAY)), max_size=20))
def test_what_is_out_of_reach_changes_no_odds_and_is_not_asked_for(taken, away):
    d = diagnose(RELAY, taken, frozenset(away))
    assert d.odds == diagnose(RELAY, taken).odds
    assert not {reading for reading, _ in d.gains} & away


def test_before_any_reading_the_odds_are_those_of_the_table():
    d = diagnose(RELAY, {})
    rows = {row["key"]: row["prior"] for row in table("fault_causes").rows}
    whole = sum(rows[key] for key, _ in d.odds)
    for key, chance in d.odds:
        assert chance == pytest.approx(rows[key] / whole)


def test_the_lattice_is_even_in_every_coordinate():
    for shift in (0, 1):
        points = lattice(COUNT, 36, shift)
        for j in range(36):
            ordered = sorted(point[j] for point in points)
            steps = [b - a for a, b in zip(ordered, ordered[1:], strict=False)]
            assert min(steps) == pytest.approx(1 / COUNT) and max(steps) == pytest.approx(1 / COUNT)
    assert len({tuple(point) for point in lattice(COUNT, 36)}) == COUNT


def test_one_reading_is_enough_to_start_with():
    d = diagnose(RELAY, {("second", "rested"): 10.4})
    assert d.odds[0][0] == "dead_cell" and d.odds[0][1] > 0.5


def test_everything_read_well_means_nothing_wrong():
    p = particles(RELAY)
    well = next(n for n, cause in enumerate(p.causes) if cause.key == "nothing")
    middle = {}
    for reading in p.shown:
        shown = sorted(p.shown[reading][p.of(well)])
        middle[reading] = shown[len(shown) // 2]
    d = diagnose(RELAY, middle)
    assert d.odds[0][0] == "nothing" and not d.doubted


@pytest.mark.parametrize(("place", "cause"), [
    ("front-fuse", "front_joint"), ("rear-fuse", "rear_joint"), ("second-earth", "second_earth"),
    ("link", "link_contact"), ("front-cable", "thin_cable"),
])  # fmt: skip
def test_a_drop_test_above_the_handbook_limit_names_its_joint_and_one_below_does_not(place, cause):
    """The limits of the service manuals come out as a special case: twice the limit accuses, half of it acquits."""
    limit = next(row["limit"] for row in table("fault_limits").rows if row["place"] == place)
    before = {("second", "rested"): 12.0, ("starter", "running"): 14.2}
    accused = odds(before | {(place, "running"): 3 * limit + 0.3})
    acquitted = odds(before | {(place, "running"): limit / 4})
    start = odds(before)
    related = [key for key in start if cause in key.split("+")]
    assert max(accused, key=accused.get) in related
    assert acquitted[cause] < start[cause] / 2


def test_a_wrong_reading_is_doubted_and_cannot_hide_the_truth():
    taken = {
        ("second", "rested"): 11.7,
        ("starter", "running"): 14.2,
        ("second", "running"): 11.7,
        ("front-fuse", "running"): 14.2,
        ("starter", "rested"): 3.2,
    }
    d = diagnose(RELAY, taken)
    assert "front_fuse" in d.odds[0][0]
    assert d.doubted == (("starter", "rested"),)


def test_a_search_ends_sure_or_with_nothing_left_to_ask():
    d = diagnose(RELAY, {}, frozenset(places_in(RELAY)))
    assert d.done and not d.sure and not d.gains
    assert diagnose(RELAY, {("load", "load-on"): 0.0, ("second", "load-on"): 12.5}).odds[0][0] == "load_fuse"
    assert all(gain < LITTLE for _, gain in d.gains)


@pytest.mark.parametrize("link", ["none", "wire", "switch", "relay", "charger"])
@pytest.mark.parametrize("chemistry", ["agm", "lfp", "flooded"])
def test_every_set_up_can_be_asked_about(link, chemistry):
    v = replace(example_vehicle(link), chemistry=chemistry, return_path="cable")
    d = diagnose(v, {("second", "rested"): 12.4})
    assert d.gains and sum(chance for _, chance in d.odds) == pytest.approx(1)


def test_places_across_which_current_may_flow_either_way_are_places():
    assert set(EITHER_SIGN) <= {place for place, _ in places_in(RELAY)} | {"run"}
