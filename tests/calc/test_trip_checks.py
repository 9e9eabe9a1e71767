"""The checks of a whole trip: scenarios that a traveller knows, and what must hold for any trip."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import calc
from calc import cautions, progress
from calc.__main__ import reply
from calc.checks import trips
from calc.checks.energy_budget import smallest
from calc.checks.trip import sentence
from calc.setup import demos
from calc.setup.model import take_in
from calc.setup.usual import usual_set_up

FRIDGE = {"name": "Fridge", "current": "4 A", "use": "duty", "duty": "40 %"}
LIGHT = {"name": "Light", "current": "5 A", "use": "steady"}


def van(**parts):
    """Return a van with a fridge, and what is different about it."""
    return take_in({"name": "Van", "load": [FRIDGE], **parts})


def run(check, s=None, **inputs):
    return calc.run(check, inputs, s)


def value(answer, key):
    return answer.values[key].value


# A trip


def test_a_battery_box_alone_lasts_as_its_capacity_says():
    """100 Ah of a new battery at 5 A: 20 h, that is what the label means."""
    box = take_in({"link": [{"kind": "none"}], "load": [LIGHT], "second": [{"capacity": "100 Ah", "health": "100 %"}]})
    found = run("trip", box, legs="camp 30 h", coldest="25 degC", hottest="25 degC")
    assert found.level == "stop"
    assert value(found, "off_hours") == pytest.approx(10, abs=0.5)
    assert value(found, "lowest_charge") < 5


def test_a_short_trip_is_well_and_a_long_one_is_not():
    short, long = run("trip", legs="drive 3 h, camp 1 d"), run("trip", legs="drive 3 h, camp 6 d")
    assert short.verdicts[0].text == "The fridge never goes off, and the engine always starts."
    assert long.verdicts[0].level == "stop" and long.verdicts[0].text.startswith("The fridge goes off on day ")
    assert value(short, "off_hours") == 0 < value(long, "off_hours")
    assert short.values["off_hours"].text == "never"


def test_a_switch_left_on_at_camp_strands_the_vehicle():
    s = van(link=[{"kind": "switch"}], load=[FRIDGE, LIGHT])
    legs = "drive 2 h, camp 2 d, drive 1 h"
    parted, left_on = run("trip", s, legs=legs), run("trip", s, legs=legs, left_on="yes")
    assert "the engine would not start on day 3" in left_on.verdicts[0].text
    assert value(left_on, "starter_lowest") < value(parted, "starter_lowest")
    assert "would not start" not in parted.verdicts[0].text
    assert cautions.JOINING in left_on.cautions


def test_a_smart_alternator_opens_a_relay_on_the_road_and_not_a_charger_with_its_wire():
    legs = "drive 6 h, camp 1 d, drive 6 h"
    relay = run("trip", van(alternator={"kind": "smart"}, link=[{"kind": "relay"}]), legs=legs)
    wired = [{"kind": "charger", "ignition_sense": "yes", "profile": "agm"}]
    charger = run("trip", van(alternator={"kind": "smart"}, link=wired), legs=legs)
    assert any("opens while you drive" in v.text for v in relay.verdicts)
    assert value(charger, "end_charge") > value(relay, "end_charge")


def test_more_sun_never_leaves_less():
    lows = [
        value(run("trip", van(sun=[{"power": f"{watts} W"}]), legs="camp 2 d"), "lowest_charge")
        for watts in (20, 60, 120)
    ]
    assert lows == sorted(lows)


def test_mains_fill_the_battery_where_one_is_plugged_in():
    s = van(mains={"fitted": "yes", "rating": "20 A"})
    found = run("trip", s, legs="camp 1 d, plugged 14 h")
    assert value(found, "end_charge") > 95 and value(found, "from_mains") > 0
    assert cautions.MAINS in found.cautions


def test_heat_makes_the_fridge_hungrier():
    cool, hot = (run("trip", legs="camp 1 d", coldest=f"{t} degC", hottest=f"{t} degC") for t in (10, 30))
    assert value(hot, "lowest_charge") < value(cool, "lowest_charge")
    assert value(hot, "used") > value(cool, "used")


def test_the_range_spans_what_is_not_known():
    found = run("trip").values["lowest_charge"]
    assert found.low < found.value < found.high
    known = take_in(
        {
            "load": [FRIDGE],
            "second": [{"capacity": "100 Ah", "health": "90 %"}],
            "starter": {"health": "90 %"},
        }
    )
    sure = run("trip", known).values["lowest_charge"]
    assert sure.low == sure.value == sure.high


def test_everything_is_said_in_words_and_drawn():
    found = run("trip", demos.demo("island_van"), legs="drive 1 h, camp 1 d, drive 1 h")
    (plot,) = found.plots
    assert [line.name for line in plot.lines] == ["second battery", "starter battery"]
    assert plot.readings[0][1].startswith("Day 1, 9:00: second battery 100")
    assert all(a[0] <= b[0] for a, b in zip(plot.readings, plot.readings[1:], strict=False))
    events, energy = found.sheets
    assert ("Day\u00a01,\u00a09:00", "Drive") in events.rows
    assert any("DC-DC charger starts" in what for _, what in events.rows)
    assert any(name == "To: Heater fan" for name, _ in energy.rows)


def test_two_months_at_rest_are_followed_to_their_end():
    """A surface voltage that has long gone is no number any more, and must not end the run."""
    found = run("trip", take_in({"sun": [{"power": "60 W"}], "load": [LIGHT]}), legs="camp 60 d")
    assert not any("cannot be worked out" in v.text for v in found.verdicts)
    (plot,) = found.plots
    assert plot.bands == () and all(len(line.points) < 450 for line in plot.lines)
    assert min(y for _, y in plot.lines[0].points) == pytest.approx(value(found, "lowest_charge"))


def test_the_energies_of_the_table_balance():
    s, q = (
        demos.demo("desert_truck"),
        trips.Question(
            trips.LEGS.read("drive 2 h, camp 1 d", {}).value, trips.Weather(-25, 20, 9, "clear", 22, 38), 90, 90
        ),
    )
    o = trips.follow(s, q)
    assert abs(o.run.imbalance) < 1e-4 * o.run.moved


def test_progress_is_told_on_the_way():
    heard = []
    progress.listen(lambda share, words: heard.append((share, words)))
    try:
        run("trip", legs="drive 1 h, camp 1 d")
    finally:
        progress.listen(None)
    shares = [share for share, _ in heard]
    assert shares == sorted(shares) and shares[0] >= 0 and 0.9 < shares[-1] <= 1
    assert {words for _, words in heard} == {"As usual", "At worst", "At best"}


def test_the_command_line_prints_the_tables():
    said = reply(["trip", "legs=drive 1 h, camp 5 h"])
    assert "What happens:\n  When          What\n  Day\u00a01,\u00a09:00   Drive\n" in said
    assert "Energy of the whole trip:" in said


@given(
    st.integers(1, 12).map(lambda n: trips.MONTHS[n - 1].lower()),
    st.integers(-70, 72),
    st.sampled_from(["clear", "half", "overcast"]),
    st.tuples(st.integers(-40, 50), st.integers(-40, 50)),
    st.sampled_from(["camp 7 h", "drive 50 min, stop 3 h", "plugged 5 h, drive 2 h", "camp 26 h sun -9..3 degC"]),
    st.sampled_from(sorted(demos.NAMES)),
)
@settings(max_examples=25)
def test_any_weather_and_any_trip_gives_a_sentence(month, latitude, sky, air, legs, name):
    inputs = {"month": month, "latitude": str(latitude), "sky": sky, "legs": legs}
    inputs |= {"coldest": f"{air[0]} degC", "hottest": f"{air[1]} degC"}
    found = run("trip", demos.demo(name), **inputs)
    assert found.verdicts[0].text.endswith(".")
    json.dumps(found.to_dict(), allow_nan=False)
    assert 0 <= value(found, "lowest_charge") <= 100.5


@pytest.mark.parametrize("latitude", [-70, 0, 50, 72])
@pytest.mark.parametrize("month", [1, 6])
def test_nights_lie_within_the_trip_and_apart(latitude, month):
    w = trips.Weather(latitude, 15 + 30 * (month - 1), 9, "half", 5, 10)
    found = trips.nights(w, 100)
    assert all(9 <= a < b <= 109 for a, b in found)
    assert all(one[1] <= other[0] for one, other in zip(found, found[1:], strict=False))
    dark = sum(b - a for a, b in found)
    polar = {(-70, 6): 100, (72, 1): 100, (-70, 1): 0, (72, 6): 0}
    assert dark == pytest.approx(polar[latitude, month], abs=1) if (latitude, month) in polar else 20 < dark < 70


def test_a_clock_of_days():
    assert trips.clock(0) == "day 1, 0:00"
    assert trips.clock(24 + 13.5) == "day 2, 13:30"


def test_every_ready_trip_can_be_read():
    for name, plain in trips.LEGS.ready:
        assert name and trips.LEGS.read(plain, {}).value.plain == plain


@pytest.mark.parametrize("name", ["", *demos.NAMES])
def test_every_ready_trip_is_followed_to_its_end(name):
    s = demos.demo(name) if name else usual_set_up()
    for _, plain in trips.LEGS.ready:
        q = trips.Question(trips.LEGS.read(plain, {}).value, trips.Weather(50, 166, 9, "half", 10, 22), 100, 90)
        assert not trips.follow(s, q).ended_early, plain


# Ways to charge


def test_a_lithium_battery_is_never_to_be_joined_straight():
    found = run("charge-path", van(second=[{"chemistry": "lfp"}]), legs="drive 3 h, camp 1 d, drive 2 h")
    assert found.verdicts[0].text == "Join them by a DC-DC charger." or found.verdicts[0].text.startswith("Leave them")
    ways = {row[0] for row in found.sheets[1].rows}
    assert ways == {"Nothing joins them", "A DC-DC charger"}


def test_sun_enough_makes_joining_needless():
    found = run("charge-path", van(sun=[{"power": "400 W"}]), legs="drive 1 h, camp 1 d", sky="clear")
    assert found.verdicts[0].text.startswith("Leave them apart")


def test_a_long_thin_cable_speaks_for_a_charger():
    cable = {"size": "6 mm2", "length": "6 m"}
    s = van(run=[cable, {**cable, "length": "1 m"}], vehicle={"earth_path": "cable"})
    found = run("charge-path", s, legs="drive 1 h, camp 1 d, drive 1 h, camp 1 d", charge="40 %")
    assert value(found, "charger") > value(found, "relay") + 5
    assert found.verdicts[0].text == "Join them by a DC-DC charger."


def test_the_five_ways_stand_side_by_side():
    found = run("charge-path", legs="drive 1 h, camp 8 h")
    rows = {row[0]: row for row in found.sheets[0].rows}
    assert len(rows) == 5 and all(len(row) == len(found.sheets[0].headings) for row in rows.values())
    assert set(found.values) == {"none", "wire", "switch", "relay", "charger"}


# Energy budget


def test_the_smallest_size_is_enough_and_the_next_smaller_is_not():
    found = run("energy-budget", days="1 day", drive="1 h")
    size = value(found, "capacity_needed")
    q = {"legs": "drive 1 h, camp 1 d, drive 1 h, camp 1 d", "charge": "100 %", "starter_charge": "90 %"}
    for capacity, enough in ((size, True), (size - 10, False)):
        s = take_in({"load": list(usual_set_up().entries["load"]), "second": [{"capacity": f"{capacity} Ah"}]})
        assert (value(run("trip", s, **q), "lowest_charge") >= 50) == enough


def test_more_days_need_more():
    sizes = [value(run("energy-budget", days=f"{hours} h"), "capacity_needed") for hours in (6, 12, 24)]
    assert sizes == sorted(sizes) and sizes[0] < sizes[-1]


def test_where_no_size_does_it_is_said():
    hungry = take_in({"load": [{"name": "Heater", "current": "60 A", "use": "steady"}]})
    found = run("energy-budget", hungry, days="1 day")
    assert found.values["capacity_needed"].value is None
    assert found.verdicts[-1].text == "No size of one thing alone is enough."


def test_what_each_load_takes_is_by_hand():
    s = take_in({"load": [LIGHT, {"name": "Kettle", "use": "burst", "power": "880 W", "hours": "6 min"}]})
    found = run("energy-budget", s, days="6 h")
    assert value(found, "used_per_day") == pytest.approx(5 * 12 * 24 + 1000 * 0.1)


@given(st.integers(0, 30))
def test_halving_finds_the_first_that_is_enough(first):
    sizes = range(0, 30)
    wanted = first if first < 30 else None
    assert smallest(sizes, lambda size: size >= first) == wanted
    if wanted is not None:
        assert smallest(sizes, lambda size: size >= first, known=sizes[-1]) == wanted


@pytest.mark.parametrize("check", ["trip", "charge-path", "energy-budget"])
def test_the_same_question_gives_the_same_answer(check):
    inputs = {"days": "6 h"} if check == "energy-budget" else {"legs": "drive 1 h, camp 6 h"}
    s = demos.demo("island_van")
    one, other = (run(check, s, **inputs) for _ in range(2))
    assert one.to_dict() == other.to_dict() and one.sheets == other.sheets


def test_the_sentence_names_what_is_there():
    s = take_in({"load": [LIGHT], "link": [{"kind": "none"}]})
    q = trips.Question(trips.LEGS.read("camp 3 d", {}).value, trips.Weather(50, 160, 9, "half", 10, 20), 100, 90)
    assert sentence(trips.follow(s, q)).startswith("Light goes off on day 2, ")
