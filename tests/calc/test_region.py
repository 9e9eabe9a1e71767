"""A region changes words and what a field starts from, and never a number."""

import json
import re

import pytest

import calc
from calc import cautions, edition, units
from calc.__main__ import reply
from calc.edition import ClubCaution, Edition
from calc.physics.cable_sizes import FAMILIES, catalogue, gauge
from calc.region import METRIC, REGIONS, UNITS, Code

CHECKS = calc.checks().values()
AMERICA = Edition(region=REGIONS["north-america"])
METRIC_QUANTITY = re.compile(r"\d[ \u00a0](?:°C|m|cm²)(?![\w²³])")
RESULT = re.compile(r"= [−\d.]+\u00a0(?:ft|in²|°F)")


def words(answer):
    """Return every sentence of an answer; its formulas stay as they are worked out."""
    said = [text for v in answer.verdicts for text in (v.text, v.because)]
    said += [*answer.cautions, *(s.text for s in answer.steps), *(v.text for v in answer.values.values())]
    return said + [entry.text for entry in answer.inputs.values()]


def explicit(check):
    """Return a check's example with everything given that a region starts otherwise."""
    series = {"family": "metric"} if any(f.name == "family" for f in check.fields) else {}
    return dict(check.example) | series


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_same_inputs_give_same_numbers_in_other_words(check):
    plain = calc.run(check.id, explicit(check))
    with edition.used(AMERICA):
        there = calc.run(check.id, explicit(check))
    ours, theirs = plain.to_dict(), there.to_dict()
    assert theirs["inputs"] == ours["inputs"]
    for key, value in ours["values"].items():
        assert {**theirs["values"][key], "text": ""} == {**value, "text": ""}
    assert not [text for text in words(there) if METRIC_QUANTITY.search(text)]
    assert not [s.formula for s in there.steps if RESULT.search(s.formula)], "a formula gives what its own units give"


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_what_a_field_says_of_itself_is_in_the_region_s_units(check):
    with edition.used(AMERICA):
        said = [text for f in check.fields for text in (units.told(f.help), f.blank_text, f.takes)]
    assert not [text for text in said if METRIC_QUANTITY.search(text)]


@pytest.mark.parametrize("region", REGIONS.values(), ids=lambda region: region.key)
def test_a_region_is_whole(region):
    assert sorted(region.families) == sorted(FAMILIES)
    assert all(units.same_kind(unit, region.units[unit]) for unit in UNITS)
    assert all(code.known.startswith(("seen", "from memory")) for code in region.codes)
    assert bool(region.codes) == (region is not METRIC)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_codes_stand_wherever_a_local_code_is_deferred_to(check):
    club = Edition("Dry Creek", REGIONS["australia"], (Code("Our rules", "trips", "named by the club"),))
    plain = calc.run(check.id, check.example).cautions
    with edition.used(club):
        there = calc.run(check.id, check.example).cautions
    named = [text for text in there if "Our rules" in text]
    assert len(named) == (cautions.LOCAL_CODE in plain)
    assert all("AS/NZS 3001.2" in text for text in named)
    assert set(plain) <= set(there), "nothing of ours is taken away"


def test_a_club_s_caution_stands_beside_ours_where_it_belongs():
    club = Edition("Dry Creek", cautions=(ClubCaution("Wash salt off.", ("cable-drop",)), ClubCaution("Tell us.")))
    with edition.used(club):
        drop = calc.run("cable-drop", {"current": "25 A", "length": "6 m"}).cautions
        rest = calc.run("resting-voltage", {"voltage": "12.4 V"}).cautions
    assert drop[-2:] == ("Dry Creek adds: Wash salt off.", "Dry Creek adds: Tell us.")
    assert rest[-1] == "Dry Creek adds: Tell us." and "Dry Creek adds: Wash salt off." not in rest


def test_the_phone_s_copy_says_the_same():
    club = Edition(
        "“Dry” <Creek>", REGIONS["europe"], (Code("A", "b", "c"),), (ClubCaution("d", ("trip",)), ClubCaution("e"))
    )
    read = edition.from_text(club.to_text())
    assert (read.club, read.region, read.codes, read.cautions) == (club.club, club.region, club.codes, club.cautions)


def test_the_series_is_the_region_s_until_one_is_chosen():
    run = {"current": "25 A", "length": "6 m"}
    assert calc.run("cable-drop", run).values["smallest_size"].text == "25\u00a0mm²"
    with edition.used(Edition(region=REGIONS["australia"])):
        assert calc.run("cable-drop", run).values["smallest_size"].text == "4\u00a0B&S"
        assert calc.run("cable-drop", run | {"family": "metric"}).values["smallest_size"].text == "25\u00a0mm²"
        assert calc.run("wiring-run", {"current": "25 A", "length_1": "6 m"}).values["size_1"].text.endswith("B&S")


def test_every_size_is_read_back_by_the_name_it_is_shown_under():
    with edition.used(Edition(region=REGIONS["australia"])):
        for size in catalogue()["awg"]:
            assert gauge(units.tidy(size.text)) is size


def test_the_region_s_unit_is_offered_first_and_a_bare_number_keeps_its_own():
    length = calc.checks()["cable-drop"].field("length")
    with edition.used(AMERICA):
        assert length.units[:2] == ("ft", "m")
        assert length.read("20", {}).value == 20
        assert units.tidy(length.read("20 ft", {}).text) == "20 ft"
    assert length.units == ("m", "ft")


def test_fixed_sentences_are_said_as_the_region_does():
    with edition.used(AMERICA):
        assert units.told("from −18 to 0 °C, over 6 m of 16 mm² in 5 min") == (
            "from 0 to 32\u00a0°F, over 19.7\u00a0ft of 16 mm² in 5 min"
        )
        assert "32\u00a0°F" in units.told(cautions.LITHIUM_COLD)
    assert units.told(cautions.LITHIUM_COLD) == cautions.LITHIUM_COLD


def test_the_command_line_takes_a_region_and_keeps_the_json_s_units():
    asked = ["cable-drop", "current=25A", "length=20 ft", "family=metric"]
    plain, there = (json.loads(reply([*asked, "--json", *more])) for more in ([], ["--region", "north-america"]))
    assert there["values"]["conductor_temperature"]["unit"] == "degC"
    assert there["values"]["conductor_temperature"]["value"] == plain["values"]["conductor_temperature"]["value"]
    assert "°F" in there["values"]["conductor_temperature"]["text"]
    assert edition.current().region is METRIC, "only for that one answer"


def test_the_command_line_names_the_regions_there_are():
    with pytest.raises(
        calc.InputError, match="There is no region “mars”; there are metric, europe, north-america, australia"
    ):
        reply(["cable-drop", "--region", "mars"])
    with pytest.raises(calc.InputError, match="Name a region after --region"):
        reply(["cable-drop", "--region"])
