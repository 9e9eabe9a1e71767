"""The command line, as other programs and tired people use it."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

import calc
from calc.__main__ import main

ROOT = Path(__file__).parents[2]
EXAMPLES = [[check.id, *(f"{k}={v}" for k, v in check.example.items())] for check in calc.checks().values()]


def run(capsys, *arguments):
    code = main(list(arguments))
    said = capsys.readouterr()
    return code, said.out, said.err


@pytest.mark.parametrize("arguments", [(), ("-h",), ("--help",)])
def test_it_lists_the_checks(capsys, arguments):
    code, out, err = run(capsys, *arguments)
    assert code == 0 and not err
    for check in calc.checks().values():
        assert check.id in out and check.question in out


@pytest.mark.parametrize("check", calc.checks().values(), ids=calc.checks())
@pytest.mark.parametrize("flag", ["--help", "-h"])
def test_help_lists_every_field_with_what_it_takes(capsys, check, flag):
    code, out, err = run(capsys, check.id, flag)
    assert code == 0 and not err
    for field in check.fields:
        assert field.name in out and field.label in out
    assert f"python -m calc {check.id}" in out
    assert "None" not in out


@pytest.mark.parametrize("words", EXAMPLES, ids=lambda words: words[0])
def test_it_answers_in_words(capsys, words):
    code, out, err = run(capsys, *words)
    assert code == 0 and not err
    answer = calc.run(words[0], calc.checks()[words[0]].example)
    folded = " ".join(out.split())
    for verdict in answer.verdicts:
        assert " ".join(verdict.text.split()) in folded
    for value in answer.values.values():
        assert value.label in out and " ".join(value.text.split()) in folded
    for caution in answer.cautions:
        assert " ".join(caution.split()) in folded
    assert max(map(len, out.splitlines())) < 200


@pytest.mark.parametrize("words", EXAMPLES, ids=lambda words: words[0])
@pytest.mark.parametrize("place", [1, None])
def test_it_answers_in_json_wherever_the_flag_stands(capsys, words, place):
    place = len(words) if place is None else place
    code, out, err = run(capsys, *words[:place], "--json", *words[place:])
    assert code == 0 and not err
    assert json.loads(out) == calc.run(words[0], calc.checks()[words[0]].example).to_dict()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["no-such-check"], "There is no check"),
        (["no-such-check", "--help"], "There is no check"),
        (["--json"], "There is no check"),
        (["cable-drop"], "Give the current"),
        (["cable-drop", "current"], "field=value"),
        (["cable-drop", "current 25"], "field=value"),
        (["cable-drop", "--jsn", "current=25"], "field=value"),
        (["cable-drop", "current=25", "length=6", "colour=red"], "no field “colour”"),
        (["cable-drop", "current=5 kg", "length=6"], "measures a mass"),
        (["cable-drop", "current=1e9", "length=6"], "between 0.1 and 600"),
        (["cable-drop", "=", "current=25", "length=6"], "no field"),
        (["cable-drop", "current=<script>", "length=6"], "does not start with a number"),
        (["cable-drop", "current=\udcff", "length=6"], "does not start with a number"),
        (["\udcff"], "There is no check"),
        (["cable-drop", "\udcff"], "field=value"),
    ],
)
def test_bad_input_exits_2_with_sentences_on_standard_error(capsys, words, said):
    code, out, err = run(capsys, *words)
    assert code == 2
    assert not out
    assert said in err.replace("\u00a0", " ")
    assert "Traceback" not in err
    err.encode("utf-8")


def test_each_bad_field_has_a_line_of_its_own(capsys):
    code, out, err = run(capsys, "cable-drop", "current=x", "length=y", "size=z")
    assert code == 2
    assert len(err.strip().splitlines()) == 3


def test_a_field_given_twice_takes_the_last():
    first = calc.run("cable-drop", {"current": "25", "length": "6"}).to_dict()
    assert main(["cable-drop", "current=5", "current=25", "length=6"]) == 0
    assert first["values"]


def test_the_module_runs_as_a_program_from_any_folder(tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "calc", "cable-drop", "current=25 A", "length=20 ft", "--json"],
        capture_output=True,
        cwd=tmp_path,
        env={"PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "ascii", "LC_ALL": "C", "PATH": ""},
        check=False,
    )
    assert done.returncode == 0, done.stderr.decode()
    assert json.loads(done.stdout)["inputs"]["length"]["value"] == pytest.approx(6.096)


def test_bad_input_ends_the_program_with_2():
    done = subprocess.run(
        [sys.executable, "-m", "calc", "cable-drop", "current=5 kg"], capture_output=True, cwd=ROOT, check=False
    )
    assert done.returncode == 2
    assert b"Traceback" not in done.stderr and not done.stdout
