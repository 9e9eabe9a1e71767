"""What cannot be together: each rule has a set-up that breaks it and a twin that does not.

The cases are common practice, no source.
"""

import re

import pytest
from hypothesis import given

from calc.fields import Choice, Number, Size
from calc.setup import demos
from calc.setup.consistency import RULES, notes
from calc.setup.model import MODEL, SetUp, give_out, take_in
from tests.calc.set_up_strategies import readable, set_ups
from tests.calc.test_set_up_model import fullest_readable

EMPTY = SetUp("", {})


def charger(**more):
    return {"link": [{"kind": "charger", **more}]}


def relay(**more):
    return {"link": [{"kind": "relay", **more}]}


def run(*pieces):
    return {"run": list(pieces)}


def starter_load(**more):
    return {"starter": {"capacity": "70 Ah"}, "load": [{"name": "Light", "battery": "starter", **more}]}


LFP = {"second": [{"chemistry": "lfp"}]}
THIN = {"size": "4 mm2", "zone": "under", "insulation": "75 degC"}

CASES = {
    "no_fuse": [
        (run({"fuse": "0 A", "size": "16 mm2"}), (("run", 0, "fuse"), ("run", 0, "size")), ("run", 0, "fuse", "40 A")),
        (run({"fuse": "0"}) | relay(), (("run", 0, "fuse"), ("link", 0, "kind")), ("link", 0, "kind", "none")),
    ],
    "no_end_fuse": [
        (
            run({"end_fuse": "0 A"}) | relay(),
            (("run", 0, "end_fuse"), ("link", 0, "kind")),
            ("link", 0, "kind", "none"),
        ),
        (
            run({}, {"end_fuse": "0"}) | charger(),
            (("run", 1, "end_fuse"), ("link", 0, "kind")),
            ("run", 1, "end_fuse", "40 A"),
        ),
    ],
    "fuse_above_cable": [
        (run({**THIN, "end_fuse": "80 A"}), (("run", 0, "end_fuse"), ("run", 0, "size")), ("run", 0, "size", "35 mm2")),
        (run({**THIN, "fuse": "80 A"}), (("run", 0, "fuse"), ("run", 0, "size")), ("run", 0, "fuse", "30 A")),
        (
            run({"size": "35 mm2", "fuse": "80 A"}, {**THIN, "fuse": "0 A"}),
            (("run", 0, "fuse"), ("run", 1, "size")),
            ("run", 1, "fuse", "30 A"),
        ),
        (
            run({"size": "10 mm2", "insulation": "60 degC", "zone": "engine_bay", "fuse": "50 A"})
            | {"vehicle": {"engine_bay_heat": "80 degC"}},
            (("run", 0, "fuse"), ("run", 0, "size")),
            ("run", 0, "insulation", "125 degC"),
        ),
    ],
    "cable_below_link": [
        (
            run(THIN) | charger(rating="60 A"),
            (("link", 0, "rating"), ("run", 0, "size")),
            ("link", 0, "rating", "20 A"),
        ),
        (
            run(THIN) | charger(input_limit="70 A", rating="10 A"),
            (("link", 0, "input_limit"), ("run", 0, "size")),
            ("run", 0, "size", "35 mm2"),
        ),
    ],
    "fuse_below_link": [
        (
            run({"fuse": "20 A"}) | charger(rating="25 A"),
            (("run", 0, "fuse"), ("link", 0, "rating")),
            ("run", 0, "fuse", "40 A"),
        ),
        (
            run({"fuse": "30 A"}) | charger(rating="25 A", input_limit="32 A"),
            (("run", 0, "fuse"), ("link", 0, "input_limit")),
            ("link", 0, "input_limit", "28 A"),
        ),
    ],
    "fuse_above_link": [
        (
            run({"fuse": "100 A"}, {"fuse": "60 A"}) | relay(rating="30 A"),
            (("run", 1, "fuse"), ("link", 0, "rating")),
            ("run", 1, "fuse", "30 A"),
        )
    ],
    "two_links": [
        (
            {"link": [{"kind": "relay"}, {"kind": "charger"}]},
            (("link", 0, "kind"), ("link", 1, "kind")),
            ("link", 1, "kind", "none"),
        )
    ],
    "lithium_straight": [
        (LFP | relay(), (("link", 0, "kind"), ("second", 0, "chemistry")), ("link", 0, "kind", "charger")),
        (LFP | relay(), (("link", 0, "kind"), ("second", 0, "chemistry")), ("starter", 0, "chemistry", "lfp")),
    ],
    "lithium_in_heat": [
        (
            {"second": [{"chemistry": "lfp", "place": "engine_bay"}]},
            (("second", 0, "chemistry"), ("second", 0, "place")),
            ("second", 0, "place", "cabin"),
        ),
        (
            {"second": [{"chemistry": "lfp", "heat": "48 degC"}]},
            (("second", 0, "chemistry"), ("second", 0, "heat")),
            ("second", 0, "heat", "45 degC"),
        ),
    ],
    "flooded_inside": [
        (
            {"second": [{"chemistry": "flooded", "place": "cabin"}]},
            (("second", 0, "chemistry"), ("second", 0, "place")),
            ("second", 0, "chemistry", "agm"),
        )
    ],
    "profile_and_battery": [
        (
            charger(profile="gel") | {"second": [{"chemistry": "agm"}]},
            (("link", 0, "profile"), ("second", 0, "chemistry")),
            ("link", 0, "profile", "agm"),
        ),
        (
            {"mains": {"fitted": "yes", "profile": "agm"}, **LFP},
            (("mains", 0, "profile"), ("second", 0, "chemistry")),
            ("mains", 0, "fitted", "no"),
        ),
    ],
    "two_types": [
        (
            {"second": [{"chemistry": "agm"}, {"chemistry": "lfp"}]},
            (("second", 0, "chemistry"), ("second", 1, "chemistry")),
            ("second", 1, "chemistry", "agm"),
        )
    ],
    "relay_points": [
        (
            relay(connects_at="12.8 V", disconnects_at="12.8 V"),
            (("link", 0, "connects_at"), ("link", 0, "disconnects_at")),
            ("link", 0, "connects_at", "13.3 V"),
        ),
        (
            {"alternator": {"set_point": "13.2 V"}} | relay(connects_at="13.3 V"),
            (("alternator", 0, "set_point"), ("link", 0, "connects_at")),
            ("alternator", 0, "set_point", "14 V"),
        ),
    ],
    "smart_alternator": [
        (
            {"alternator": {"kind": "smart"}} | relay(),
            (("alternator", 0, "kind"), ("link", 0, "kind")),
            ("alternator", 0, "kind", "fixed"),
        ),
        (
            {"alternator": {"kind": "smart"}} | charger(ignition_sense="no"),
            (("alternator", 0, "kind"), ("link", 0, "ignition_sense")),
            ("link", 0, "ignition_sense", "yes"),
        ),
    ],
    "alternator_outputs": [
        (
            {"alternator": {"idle_output": "100 A", "rated_output": "90 A"}},
            (("alternator", 0, "idle_output"), ("alternator", 0, "rated_output")),
            ("alternator", 0, "idle_output", "30 A"),
        )
    ],
    "charger_above_alternator": [
        (
            {"alternator": {"rated_output": "45 A"}} | charger(rating="60 A"),
            (("link", 0, "rating"), ("alternator", 0, "rated_output")),
            ("alternator", 0, "rated_output", "150 A"),
        )
    ],
    "charger_input": [
        (
            charger(input_limit="20 A", rating="30 A"),
            (("link", 0, "input_limit"), ("link", 0, "rating")),
            ("link", 0, "input_limit", "40 A"),
        )
    ],
    "starter_left_on": [
        (
            starter_load(current="1 A", use="steady"),
            (("load", 0, "battery"), ("starter", 0, "capacity")),
            ("load", 0, "current", "30 mA"),
        ),
        (
            starter_load(current="4 A", use="timed", hours="3 h"),
            (("load", 0, "battery"), ("starter", 0, "capacity")),
            ("load", 0, "hours", "2 h"),
        ),
        (
            starter_load(current="4 A", use="duty", duty="30 %"),
            (("load", 0, "battery"), ("starter", 0, "capacity")),
            ("load", 0, "battery", "second"),
        ),
    ],
    "sun_and_charger": [
        (
            {"sun": [{"power": "150 W"}, {"power": "100 W"}]} | charger(solar_input="200 W"),
            (("sun", 0, "power"), ("link", 0, "solar_input")),
            ("sun", 1, "power", "50 W"),
        )
    ],
    "twenty_four": [
        (
            {"alternator": {"set_point": "28.2 V"}},
            (("alternator", 0, "set_point"), ("second", 0, "chemistry")),
            ("alternator", 0, "set_point", "14.2 V"),
        ),
        (
            relay(connects_at="26500 mV"),
            (("link", 0, "connects_at"), ("second", 0, "chemistry")),
            ("link", 0, "connects_at", "13.3"),
        ),
        (
            {"load": [{"current": "24 V"}]},
            (("load", 0, "current"), ("second", 0, "chemistry")),
            ("load", 0, "current", "24 A"),
        ),
    ],
}
EACH = [(name, *case) for name, cases in CASES.items() for case in cases]
each_case = pytest.mark.parametrize(("name", "data", "places", "heals"), EACH, ids=[name for name, *_ in EACH])


def assert_note(note, s):
    """Check that a note is a sentence about two real places, and names both as a reader sees them."""
    assert len(note.places) == 2 and len(set(note.places)) == 2
    for part, number, name in note.places:
        assert name in {f.name for f in MODEL.part(part).fields}
        assert 0 <= number < max(1, s.count(part))
        assert s.label((part, number, name)) in note.text
    assert note.text.endswith(".") and "\n" not in note.text and "!" not in note.text
    assert 40 < len(note.text) <= 400
    assert not re.search(r"\b(None|nan|inf|degC|mm2|percent)\b|\.\.|  | ,", note.text)


def test_every_rule_has_a_case():
    assert set(CASES) == {rule.__name__ for rule in RULES}


@each_case
def test_what_cannot_be_together_is_said_with_both_places(name, data, places, heals):
    s = take_in(data)
    (rule,) = (rule for rule in RULES if rule.__name__ == name)
    (note,) = rule(s)
    assert note.places == places
    assert note in notes(s)
    assert_note(note, s)
    assert give_out(s) == {"name": "", **give_out(take_in(data))}


@each_case
def test_a_twin_that_goes_together_gets_no_note(name, data, places, heals):
    *place, text = heals
    s = take_in(data).changed(tuple(place), text)
    assert not s.problems()
    (rule,) = (rule for rule in RULES if rule.__name__ == name)
    assert not list(rule(s))


@each_case
def test_without_one_of_the_two_nothing_quarrels(name, data, places, heals):
    if name == "twenty_four":
        return
    for place in places:
        s = take_in(data).changed(place, "?")
        (rule,) = (rule for rule in RULES if rule.__name__ == name)
        assert not [note for note in rule(s) if place in note.places]


def test_usual_values_never_quarrel():
    assert not notes(EMPTY)
    assert not notes(take_in({p.key: [{}] * p.many if p.many > 1 else {} for p in MODEL.parts}))


def test_the_usual_values_go_together_when_they_are_given():
    """Typed in, they are a vehicle as it may be; the usual rating is a charger's, a relay's is higher."""
    assert not notes(fullest_readable().changed(("link", 0, "rating"), "140 A"))


def some_texts(field):
    if isinstance(field, Choice):
        return [key for key, _ in field.options]
    if isinstance(field, Number):
        low, high = field.limits
        return [f"{value:.6g}" for value in (low, (low + high) / 2, high)]
    return ["0.5 mm2", "95 mm2", "6 AWG"] if isinstance(field, Size) else ["24 V fridge", "x"]


@pytest.mark.parametrize("part", MODEL.parts, ids=lambda part: part.key)
def test_a_single_entry_quarrels_with_nothing(part):
    for field in part.fields:
        for text in [*some_texts(field), "?", "nonsense"]:
            assert not notes(EMPTY.changed((part.key, 0, field.name), text)), (field.name, text)


@pytest.mark.parametrize("part", MODEL.parts, ids=lambda part: part.key)
def test_a_voltage_of_24_v_is_noticed_wherever_it_stands(part):
    for field in part.fields:
        if isinstance(field, Number):
            s = EMPTY.changed((part.key, 0, field.name), "24 V")
            (note,) = notes(s)
            assert note.places[0] == (part.key, 0, field.name)
            assert_note(note, s)


@given(set_ups())
def test_any_set_up_gets_sentences_and_keeps_what_it_holds(s):
    before = give_out(s)
    for note in notes(s):
        assert_note(note, s)
    assert give_out(s) == before


@given(set_ups(of=readable))
def test_any_set_up_that_can_be_read_gets_sentences_about_given_places(s):
    for note in notes(s):
        assert_note(note, s)
        assert not any(s.known(*place).assumed for place in note.places)


def test_a_note_says_what_a_reader_needs():
    (note,) = notes(take_in(run({**THIN, "fuse": "80 A"})))
    assert note.text.replace("\u00a0", " ") == (
        "“Cable, fuse at its start: 80 A” and “Cable, size: 4 mm²”: this fuse is too large, as that cable may carry "
        "24.8 A in air of 35 °C. A fuse may be at most one and a half times that (33 CFR 183.455)."
    )


def test_an_insulation_that_is_not_known_is_said_to_be_taken():
    (note,) = notes(take_in(run({"size": "4 mm2", "fuse": "80 A"})))
    assert "its insulation taken as 75" in note.text


def test_the_demos():
    assert not notes(demos.demo("island_van"))
    desert = demos.demo("desert_truck")
    assert [note.places for note in notes(desert)] == [
        (("link", 0, "kind"), ("second", 0, "chemistry")),
        (("second", 0, "chemistry"), ("second", 0, "heat")),
        (("mains", 0, "profile"), ("second", 0, "chemistry")),
    ]
