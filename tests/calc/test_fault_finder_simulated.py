"""The fault finder in vehicles that another program broke: right, soon, and honest about how sure it is.

A small seeded sample; `tests.bench.fault_finder` prints the whole tables. The bounds leave room for the sample's own
scatter: with 108 cases a share of 95 % scatters by 2.1 %.
"""

import numpy as np
import pytest

from calc.physics import faults
from calc.physics.faults import places_in
from tests.calc import fault_simulator, fault_trial


@pytest.fixture(scope="module")
def outcomes():
    choosers = {"finder": fault_trial.most_telling}
    return [one["finder"] for one in fault_trial.trial(seed=11, set_ups=6, each=18, choosers=choosers)]


def test_the_true_cause_ranks_first_where_any_reading_could_tell(outcomes):
    found = fault_trial.summary(outcomes)
    assert found["tellable"] > 0.85 * found["cases"]
    assert found["first"] >= 0.95 - 2 * 0.021


def test_it_takes_few_readings(outcomes):
    assert fault_trial.summary(outcomes)["median"] <= 5


def test_what_it_says_is_four_in_five_is_about_four_in_five(outcomes):
    stated = [
        (chance, key == o.case.cause) for o in outcomes for d in o.said[1:] for key, chance in d.odds if chance > 0.5
    ]
    chances, trues = (np.array(column, float) for column in zip(*stated, strict=True))
    assert len(stated) > 200
    assert abs(chances.mean() - trues.mean()) < 0.1


def test_the_two_circuits_agree_where_they_share_their_numbers():
    """The simulator's dense solution and the book's closed form, in the same vehicles: only leaks differ."""
    rng = np.random.default_rng(3)
    compared = 0
    for v in fault_simulator.set_ups(rng, 12):
        for _ in range(6):
            case = fault_simulator.case(rng, v)
            c = as_circuit(case)
            for place, state in places_in(v):
                ours = faults.read(faults.at_points(c, state), place)
                assert case.exact(place, state) == pytest.approx(ours, abs=0.1), (case.cause, place, state)
                compared += 1
    assert compared > 1500


def as_circuit(case):
    """The simulator's vehicle in the book's own form."""
    t, c = case.truth, faults.Circuit()
    c.vehicle = case.set_up
    for key, value in t.items():
        if key not in ("well", "amounts"):
            setattr(c, key, float(value))
    c.second_rest, c.starter_rest, c.second_take = t["E"], t["Es"], t["take"]
    c.ignition_wired = float(t["wired"])
    c.before, c.behind = c.front_joint + c.front_cable, c.rear_cable + c.rear_joint + c.earth
    c.whole = not (c.front_open or c.rear_open)
    c.output = 0.0 if c.alternator_dead else c.output
    c.link_closes = not c.link_open and case.set_up.link in ("wire", "switch", "relay")
    return c
