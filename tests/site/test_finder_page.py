"""The guided search: its question, its drawing, the readings taken and the causes."""

import json
import re
from itertools import pairwise
from xml.etree import ElementTree

import pytest

import calc
from calc.physics import faults
from calc.setup.usual import usual_set_up
from site_src import finder_page, probes, render, stories

LINKS = ("none", "wire", "switch", "relay", "charger")
SVG = "{http://www.w3.org/2000/svg}"


def search(readings="", link="relay"):
    return calc.run("fault-finder", {"readings": readings, "link": link}).search


def every_reading():
    return [(link, one) for link in LINKS for one in search(link=link).ahead]


def drawn(one, link="relay"):
    return ElementTree.fromstring(probes.svg(one, link, "body"))


def texts(picture):
    return [each.text for each in picture.iter(f"{SVG}text")]


def ask(**request):
    return json.loads(render.reply(json.dumps({"check": "fault-finder", **request})))


EVERY = every_reading()
NAMED = [f"{link} {one.key}" for link, one in EVERY]


@pytest.mark.parametrize(("link", "one"), EVERY, ids=NAMED)
def test_every_reading_is_drawn_with_both_probes_inside_the_picture(link, one):
    picture = drawn(one, link)
    said = texts(picture)
    assert ("METER" in said) == (one.place in faults.AMPERES) == ("RED" not in said)
    assert ("RED" in said) == ("BLACK" in said)
    frames = [e for group in picture.iter(f"{SVG}g") for e in group.iter(f"{SVG}rect") if e.get("class") == "paper"]
    spans = sorted((float(f.get("x")), float(f.get("x")) + float(f.get("width")), f.get("y")) for f in frames)
    assert all(left >= 0 and right <= probes.WIDTH for left, right, _ in spans)
    assert all(right <= left for (_, right, y), (left, _, z) in pairwise(spans) if y == z)


@pytest.mark.parametrize(("link", "one"), EVERY, ids=NAMED)
def test_the_drawing_tells_engine_and_loads_in_words(link, one):
    picture = drawn(one, link)
    state = probes.STATES[one.state]
    assert {state.engine, state.loads} <= set(texts(picture))
    assert one.red in picture.find(f"{SVG}desc").text and one.black in picture.find(f"{SVG}desc").text
    assert ("running" in state.engine) == (one.state in faults.ENGINE)
    assert state.is_on == (one.state in ("load-on", "running-load"))


def test_red_is_round_and_black_is_square():
    picture = drawn(next(one for _, one in EVERY if one.key == "second rested"))
    by_class = {group.get("class"): group for group in picture.iter(f"{SVG}g")}
    assert by_class["red-probe"].find(f"{SVG}circle") is not None
    assert by_class["black-probe"].find(f"{SVG}circle") is None
    assert "style" not in probes.svg(EVERY[0][1], "relay", "body")


def test_every_point_that_a_probe_touches_is_in_the_drawing():
    assert {point for ends in faults.PROBES.values() for point in ends} <= set(probes.POINTS)
    assert set(probes.STATES) == set(faults.STATES)


def test_the_question_is_the_reading_that_tells_most():
    shown = ask(inputs={})["guided"]
    best = search().ahead[0]
    assert f'data-key="{best.key}"' in shown
    assert "Reading 1" in shown and 'inputmode="decimal"' in shown
    assert "Readings so far" not in shown


def test_a_reading_that_is_wanted_is_asked_for_instead():
    other = search().ahead[5]
    assert f'class="entry" data-key="{other.key}"' in ask(inputs={}, wanted=other.key)["guided"]
    assert f'class="entry" data-key="{search().ahead[0].key}"' in ask(inputs={}, wanted="<img>")["guided"]


def test_a_reading_that_was_taken_can_be_changed_from_what_was_typed():
    inputs = {"readings": "second rested 11.9 V; second-drain rested 80 mA"}
    shown = ask(inputs=inputs, wanted="second rested")["guided"]
    assert 'value="11.9"' in shown and "Reading 1" in shown
    shown = ask(inputs=inputs, wanted="second-drain rested")["guided"]
    assert 'value="0.08"' in shown and "Reading 2" in shown and '<option value="A" selected>' in shown


def test_what_is_out_of_reach_is_not_asked_for_and_can_be_asked_for_again():
    best = search().ahead[0].key
    shown = ask(inputs={"readings": f"{best} ?"})["guided"]
    assert f'class="entry" data-key="{best}"' not in shown
    assert f'data-plain="{best} ?"' in shown and "out of reach" in shown


def test_the_readings_that_the_page_writes_are_the_ones_that_were_given():
    inputs = {"readings": "second rested 11,9V; starter running 14.2; link-in running ?"}
    plain = re.findall(r'data-plain="([^"]*)"', ask(inputs=inputs)["guided"])
    assert plain == ["second rested 11.9 V", "starter running 14.2 V", "link-in running ?"]
    assert ask(inputs={"readings": "; ".join(plain)})["guided"] == ask(inputs=inputs)["guided"]


def test_sure_enough_is_said_and_more_can_still_be_read():
    readings = "; ".join(one.plain for one in stories.told("front_fuse").search.taken)
    found = search(readings)
    assert found.sure
    shown = ask(inputs={"readings": readings})["guided"]
    assert found.suspects[0].title in shown and "Take one more reading" in shown and 'class="entry"' in shown
    assert shown.count('id="question-heading"') == 1


def test_causes_stand_with_their_odds_what_to_do_and_what_not():
    found = search(calc.checks()["fault-finder"].example["readings"])
    shown = finder_page.causes_html(found)
    for suspect in found.suspects:
        assert suspect.title in shown and suspect.odds in shown
        assert all(sentence in shown for sentence in (*suspect.now, *suspect.never))
    widths = [float(each.split('"')[0]) for each in shown.split('<rect width="')[2::2]]
    assert widths == sorted(widths, reverse=True)
    assert widths[0] == pytest.approx(100 * found.suspects[0].chance, abs=0.05)


def test_what_is_no_number_is_refused_in_words_for_who_typed_it():
    readings = "second rested abc"
    reply = ask(inputs={"readings": readings}, typed="abc")
    assert "abc" in reply["misread"] and "readings" in reply["errors"]
    assert "misread" not in ask(inputs={"readings": "second rested 990 V"}, typed="990 V")


def test_every_test_point_of_the_usual_vehicle_is_listed():
    points = finder_page.points_of(search())
    known = faults.places_in(faults.example_vehicle("relay"))
    assert sum(len(point["readings"]) for point in points) == len(known)
    assert all(point["title"] and point["red"] and healthy for point in points for _, healthy in point["readings"])


def test_it_says_which_vehicle_it_is_about():
    set_up = usual_set_up().changed(("link", 0, "kind"), "charger")
    shown = render.guided_html(calc.run("fault-finder", {}, set_up))
    assert "Taken as: a DC-DC charger" in shown
