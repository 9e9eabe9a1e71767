"""From a set-up into the checks: every check starts, what was given stays, and sums by hand for each kind of link."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import calc
from calc.setup import demos, starts
from calc.setup.model import MODEL, SetUp, take_in
from tests.calc.set_up_strategies import readable, set_ups
from tests.calc.test_bad_input import finite
from tests.calc.test_set_up_consistency import some_texts
from tests.conftest import mostly_long

EMPTY = SetUp("", {})
SET_UPS = {"empty": EMPTY, **{name: demos.demo(name) for name in demos.NAMES}}
NEEDED = {
    "resting-voltage": {"voltage": "12.4 V"},
    "trip": {"legs": "drive 1 h, camp 5 h"},
    "charge-path": {"legs": "drive 1 h, camp 5 h"},
    "energy-budget": {"days": "6 h", "drive": "1 h"},
}
"""What no set-up can know, such as the reading itself; a short trip, as many are followed here."""

SLOW = ("fault-finder", "energy-budget")
"""Checks that take a second or so; others read the same entries."""

every_check = pytest.mark.parametrize("check", calc.checks().values(), ids=calc.checks())
quick_checks, whole_checks = (
    pytest.mark.parametrize("check", [c for c in calc.checks().values() if c.whole == whole], ids=lambda c: c.id)
    for whole in (False, True)
)
every_set_up = pytest.mark.parametrize("s", SET_UPS.values(), ids=SET_UPS)


def value(found, unit=None):
    """Return the number in a start's text, after seeing its unit."""
    number, _, its_unit = found.text.partition(" ")
    assert unit is None or its_unit == unit
    return float(number)


# Every check, every set-up


@every_check
def test_a_check_names_its_own_fields_and_real_places(check):
    assert set(check.starts) <= {f.name for f in check.fields}
    for key, (part, name) in check.gives.items():
        assert key in {o.key for o in check.outputs}
        assert MODEL.part(part).field(name)


@every_check
@every_set_up
def test_every_check_starts_from_every_set_up(check, s):
    answer = calc.run(check.id, NEEDED.get(check.id, {}), s)
    assert answer.verdicts and finite(answer.to_dict())


@every_check
@every_set_up
def test_every_start_can_be_read_and_names_where_it_comes_from(check, s):
    for name in check.starts:
        found = check.start(name, s)
        if found is None:
            continue
        assert check.field(name).read(found.text, {}).value is not None
        assert found.places and len(set(found.places)) == len(found.places)
        for part, number, field in found.places:
            assert MODEL.part(part).field(field) and number < max(1, s.count(part))
            assert MODEL.part(part).title in found.label
        assert len(found.label) < 120 and " and " not in found.label[-4:]
        assert found.assumed == (found.usual is not None)


@pytest.mark.parametrize("name", [*(n for n in calc.checks() if n not in SLOW), *mostly_long(SLOW)])
def test_each_entry_alone_can_be_started_from(name):
    """What a set-up takes, the checks' fields take too: their limits must not be narrower."""
    check = calc.checks()[name]
    for part, field in MODEL.fields():
        for text in some_texts(field):
            s = EMPTY.changed((part.key, 0, field.name), text)
            for kind in ("relay", "charger")[: 1 if check.whole and part.key != "link" else 2]:
                calc.run(check.id, NEEDED.get(check.id, {}), s.changed(("link", 0, "kind"), kind))


def gives_an_answer_or_a_sentence_for_the_field(check, s):
    try:
        answer = calc.run(check.id, NEEDED.get(check.id, {}), s)
    except calc.InputError as problem:  # sums of several extremes, such as 200 m of cable
        assert set(problem.errors) <= set(check.starts)
        assert all(text.endswith(".") for text in problem.errors.values())
    else:
        assert finite(answer.to_dict())


@quick_checks
@given(s=set_ups(of=readable, most=6) | set_ups())
def test_any_set_up_gives_an_answer_or_a_sentence(check, s):
    gives_an_answer_or_a_sentence_for_the_field(check, s)


@whole_checks
@settings(max_examples=15)
@given(s=set_ups(of=readable, most=4) | set_ups())
def test_any_vehicle_gives_an_answer(check, s):
    gives_an_answer_or_a_sentence_for_the_field(check, s)


@every_check
@every_set_up
def test_a_value_given_overrides_the_set_up(check, s):
    answer = calc.run(check.id, dict(check.example), s)
    for name, text in check.example.items():
        entry = answer.inputs[name]
        assert entry.start is None and entry.given == text
    blank = calc.run(check.id, {**NEEDED.get(check.id, {}), **dict.fromkeys(check.starts, "?")}, s)
    assert blank.to_dict() == calc.run(check.id, NEEDED.get(check.id, {}), s).to_dict()


@every_check
def test_without_a_set_up_nothing_starts(check):
    assert all(entry.start is None for entry in calc.run(check.id, dict(check.example)).inputs.values())
    assert all(check.start(name, None) is None for name in check.starts)


@every_check
@every_set_up
def test_an_answer_written_back_is_read_again(check, s):
    answer = calc.run(check.id, NEEDED.get(check.id, {}), s)
    for key, (part, name) in check.gives.items():
        found = answer.values.get(key)
        if found is None or found.value is None:
            continue
        changed = starts.written(s, part, name, found.text)
        assert not changed.problems()
        pieces = range(max(1, changed.count(part))) if name == "size" else [0]
        for number in pieces:
            known = changed.known(part, number, name)
            assert not known.assumed
            got = known.entry.number()
            assert got == pytest.approx(found.value, rel=0.02)


def test_a_smallest_size_written_back_is_enough():
    s = take_in({"run": [{"length": "5 m"}, {"length": "4 m"}], "link": [{"kind": "charger", "rating": "30 A"}]})
    size = calc.run("cable-drop", {}, s).values["smallest_size"].text
    again = calc.run("cable-drop", {}, starts.written(s, "run", "size", size))
    assert again.inputs["size"].start.places == (("run", 0, "size"),)
    assert again.verdicts[0].level == "ok"


# By hand


def test_a_relay_passes_the_alternators_voltage_and_the_batterys_own_current():
    s = take_in(
        {
            "alternator": {"set_point": "14.0 V"},
            "second": [{"capacity": "120 Ah", "chemistry": "agm"}],
            "link": [{"kind": "relay", "rating": "140 A"}],
        }
    )
    assert starts.source_voltage(s).text == "14.0 V" and not starts.source_voltage(s).assumed
    current = starts.charging_current(s)
    assert value(current, "A") == 30  # a quarter of 120 Ah
    assert current.assumed and "bulk" in current.usual.words
    assert current.places == (("second", 0, "capacity"),)
    assert starts.output_current(s) == current


def test_batteries_side_by_side_count_together():
    s = take_in({"second": [{"capacity": "100 Ah"}, {"capacity": "80 Ah"}], "link": [{"kind": "relay"}]})
    assert value(starts.bank_capacity(s), "Ah") == 180
    assert value(starts.charging_current(s), "A") == 45
    assert calc.run("fuse-choice", {}, s).inputs["capacity"].value == 180


def test_a_charger_draws_its_input_and_gives_its_rating_at_its_own_voltage():
    s = take_in({"link": [{"kind": "charger", "rating": "25 A", "input_limit": "32 A", "profile": "lfp"}]})
    assert starts.charging_current(s).text == "32 A" and not starts.charging_current(s).assumed
    assert starts.output_current(s).text == "25 A"
    assert value(starts.source_voltage(s), "V") == pytest.approx((14.4 + 14.6) / 2)  # 3.60 to 3.65 V a cell
    assert starts.output_resistance(s) is None


def test_a_charger_of_which_only_the_rating_is_known_draws_more_than_it():
    """A charger steps a low input up and has losses: the usual 40 A for 30 A, so a third more."""
    found = starts.charging_current(take_in({"link": [{"kind": "charger", "rating": "60 A"}]}))
    assert value(found, "A") == pytest.approx(80)
    assert found.assumed and ("link", 0, "input_limit") in found.places and ("link", 0, "rating") in found.places
    assert starts.charging_current(take_in({"link": [{"kind": "charger"}]})).text == "40 A"


def test_a_kind_of_link_that_nobody_gave_is_assumed_in_what_rests_on_it():
    s = take_in({"alternator": {"set_point": "14.0 V"}, "second": [{"capacity": "100 Ah"}]})
    for found in (starts.source_voltage(s), starts.charging_current(s)):
        assert found.assumed and ("link", 0, "kind") in found.places


RUN = take_in(
    {
        "vehicle": {"earth_path": "cable", "engine_bay_heat": "70 degC", "ambient": "30 degC"},
        "run": [
            {"length": "2 m", "size": "16 mm2", "zone": "engine_bay", "insulation": "125 degC", "joints": "3"},
            {"length": "10 ft", "size": "10 mm2", "zone": "under", "insulation": "105 degC", "joints": "4"},
            {"length": "50 cm", "size": "16 mm2", "zone": "cabin", "insulation": "75 degC", "joints": "1"},
        ],
    }
)


def test_several_pieces_of_cable_are_one_run():
    assert value(starts.run_length(RUN), "m") == pytest.approx(2 + 3.048 + 0.5)
    assert starts.run_length(RUN).label == "Cable 1, Cable 2 and Cable 3"
    assert starts.run_size(RUN).text == "10 mm2" and starts.run_size(RUN).places == (("run", 1, "size"),)
    assert value(starts.run_joints(RUN)) == 8


def test_the_resistance_of_a_run_by_hand():
    """Class 5 copper by IEC 60228, 1.21 and 1.91 ohm/km at 20 °C; joints 0.2 mohm each."""

    def piece(per_km, length, heat):
        return per_km * length * (234.5 + heat) / 254.5  # mohm

    one_way = piece(1.21, 2, 70) + piece(1.91, 3.048, 30) + piece(1.21, 0.5, 30)
    assert value(starts.run_resistance(RUN), "mohm") == pytest.approx(2 * one_way + 8 * 0.2, rel=1e-4)
    by_body = RUN.changed(("vehicle", 0, "earth_path"), "body")
    assert value(starts.run_resistance(by_body), "mohm") == pytest.approx(one_way + 8 * 0.2 + 2, rel=1e-4)


def test_the_piece_that_may_carry_least_decides():
    """A cool piece of poor cable does not meet the engine bay's heat; good cable there is not taken for poor."""
    assert starts.allowed(RUN, 1) < min(starts.allowed(RUN, 0), starts.allowed(RUN, 2))
    assert starts.run_insulation(RUN).text == "105 degC"
    assert starts.in_engine_bay(RUN).text == "no"
    assert starts.run_ambient(RUN).text == "30 degC"
    hot = RUN.changed(("vehicle", 0, "engine_bay_heat"), "115 degC")
    assert starts.run_insulation(hot).text == "125 degC"
    assert starts.in_engine_bay(hot).text == "yes"
    assert starts.run_ambient(hot).text == "115 degC"


@given(set_ups(of=readable, most=6))
def test_no_piece_may_carry_less_than_the_run(s):
    pieces = range(max(1, s.count("run")))
    assert starts.allowed(s, starts.weakest(s)) == min(starts.allowed(s, n) for n in pieces)


def test_with_no_cable_entered_the_usual_piece_stands():
    assert starts.run_length(EMPTY).text == "6 m" and starts.run_length(EMPTY).assumed
    assert starts.known_run_size(EMPTY) is None
    assert starts.known_run_size(RUN).text == "10 mm2"


LOADS = [
    ({"current": "2 A", "use": "steady"}, 2.0),
    ({"current": "3 A", "use": "timed", "hours": "4 h"}, 3 * 4 / 24),
    ({"current": "4 A", "use": "timed", "hours": "90 min"}, 4 * 1.5 / 24),
    ({"current": "5 A", "use": "duty", "duty": "35 %"}, 1.75),
    ({"current": "60 W"}, 4.0),
    ({"current": "30 mA", "use": "steady", "battery": "second"}, 0.03),
    ({"current": "5 A", "use": "steady", "battery": "starter"}, 0.0),
    ({"current": "5 A", "use": "duty"}, 2.0),
    ({}, 4.0),
]


@pytest.mark.parametrize(("load", "average"), LOADS)
def test_a_load_by_hand(load, average):
    found = starts.usual_load(take_in({"load": [load]}))
    assert (found is None) if load.get("battery") == "starter" else value(found, "A") == pytest.approx(average)


def test_all_loads_together():
    s = take_in({"load": [load for load, _ in LOADS]})
    found = starts.usual_load(s)
    assert value(found, "A") == pytest.approx(sum(average for _, average in LOADS), rel=1e-5)
    assert not any(place[:2] == ("load", 6) for place in found.places)
    assert found.assumed


def test_no_load_entered_leaves_the_field_to_its_default():
    assert starts.usual_load(EMPTY) is None
    assert calc.run("resting-voltage", {"voltage": "12.4 V"}, EMPTY).inputs["load"].start is None


def test_the_demos_by_hand():
    island = demos.demo("island_van")
    load = 3.8 * 0.28 + 1.6 * 9 / 24 + 1.2 * 5 / 24 + 2 * 3 / 24
    assert value(starts.usual_load(island), "A") == pytest.approx(load, rel=1e-5)
    assert starts.charging_current(island).text == "32 A"
    desert = demos.demo("desert_truck")
    load = 4.5 * 0.70 + 5 * 0.40 + 2.1 * 4 / 24 + 600 / 0.88 / 12 * 10 / 60 / 24
    assert value(starts.usual_load(desert), "A") == pytest.approx(load, rel=1e-5)
    assert starts.usual_load(desert).assumed  # the freezer's share of time is not known
    assert value(starts.run_length(desert), "m") == 6


@given(st.lists(st.sampled_from([("Cable 1", "a"), ("Cable 2", "b"), ("Vehicle", "c"), ("Link", "d")]), min_size=1))
def test_places_together_in_words(pairs):
    class One:
        def __init__(self, part, name):
            self.part, self.label = part, f"{part}, {name}"

    words = starts.together([One(*pair) for pair in pairs])
    parts = list(dict.fromkeys(part for part, _ in pairs))
    assert all(part in words for part in parts)
    assert words.count(" and ") == (len(parts) > 1)
