"""The renderer that host and phone share: it escapes what was typed, and carries every value of an answer."""

import json
from dataclasses import replace
from xml.etree import ElementTree

import pytest

import calc
from calc.check import Answer, Line, Plot, Sheet, Step, Value, Verdict
from site_src import render, templating

EVIL = '<img src=x onerror="alert(1)">'


def answer(level="ok", text="It will do.", value=1.5):
    values = {"drop": Value("drop", value, "V", "Lost", EVIL, 1.0, 2.0)}
    return Answer("x", {}, values, (Verdict(level, text, EVIL),), (EVIL,), (Step(EVIL, EVIL, EVIL),))


def test_nothing_in_an_answer_becomes_markup():
    shown = render.answer_html(answer()) + render.working_html(answer())
    assert "<img" not in shown
    assert shown.count("&lt;img") == 6


def test_value_carries_its_number_and_its_range():
    assert 'data-key="drop" value="1.5" data-low="1.0" data-high="2.0"' in render.answer_html(answer())


def test_value_without_a_number_is_left_empty():
    assert 'data-key="drop" value=""' in render.answer_html(answer(value=None))


@pytest.mark.parametrize("level", render.LEVEL_WORDS)
def test_level_is_said_in_words(level):
    shown = render.answer_html(answer(level))
    assert render.LEVEL_WORDS[level] in shown
    assert render.headline(answer(level)) == f"{render.LEVEL_WORDS[level]}: It will do."


def test_headline_is_the_gravest_where_one_says_stop():
    made = answer()
    grave = Answer(made.check, {}, made.values, (*made.verdicts, Verdict("stop", "Do not.", "")), (), ())
    assert render.headline(grave) == "Stop: Do not."


@pytest.mark.parametrize("check", calc.checks().values(), ids=lambda check: check.id)
def test_reply_holds_what_the_page_shows(check):
    reply = json.loads(render.reply(json.dumps({"check": check.id, "inputs": dict(check.example)})))
    assert set(reply) - {"plain", "guided"} == {"answer", "pictures", "working", "headline", "level"}
    for key in calc.run(check.id, check.example).values:
        assert f'data-key="{key}"' in reply["answer"]


def test_a_plot_with_readings_carries_them_for_a_finger_and_a_slider():
    readings = ((0, "At first, 100 %"), (10, EVIL))
    line = Line("charge", ((0, 1), (10, 0)), "solid")
    plot = Plot("A trip", "h", "%", (0, 10), (0, 1), (line,), (), "Words.", "linear", "linear", readings=readings)
    shown = render.pictures_html(replace(answer(), plots=(plot,)))
    assert "<img" not in shown
    holder = ElementTree.fromstring(shown).find("div")
    assert [words for _, words in json.loads(holder.get("data-readings"))] == [words for _, words in readings]
    slider = holder.find("input")
    assert (slider.get("max"), slider.get("aria-valuetext")) == ("1", "At first, 100 %")
    assert holder.find("output").text == "At first, 100 %"


def test_a_table_of_an_answer_is_whole_and_escaped():
    sheet = Sheet("What happens", ("When", "What"), (("Day 1", EVIL), ("Day 2", "The relay opens")))
    shown = render.pictures_html(replace(answer(), sheets=(sheet,)))
    assert "<img" not in shown
    assert shown.count('<th scope="col">') == 2 and shown.count('<th scope="row">') == 2
    assert "<td>The relay opens</td>" in shown


def test_an_answer_about_a_vehicle_says_so_first():
    shown = render.answer_html(replace(answer(), about=f"This is about {EVIL}."))
    assert shown.index("This is about") < shown.index("It will do.") and "<img" not in shown


def test_a_trip_goes_back_to_the_page_in_its_plain_spelling():
    request = {"check": "trip", "inputs": {"legs": "3 h driving; camping 5 h sunny"}}
    assert json.loads(render.reply(json.dumps(request)))["plain"] == {"legs": "drive 3 h, camp 5 h clear"}


def test_reply_to_bad_input_holds_a_sentence_for_each_field():
    reply = json.loads(render.reply('{"check": "cable-drop", "inputs": {"current": "x"}}'))
    assert set(reply["errors"]) == {"current", "length"}


@pytest.mark.parametrize("value, shown", [(1.0, "1"), (0.25, "0.25"), (None, ""), ("6 AWG", "6 AWG")])
def test_cell(value, shown):
    assert templating.cell(value) == shown
