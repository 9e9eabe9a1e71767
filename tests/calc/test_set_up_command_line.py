"""The command line with a set-up, as other programs and tired people use it."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

import calc
from calc.__main__ import WIDTH, main, set_up_help, set_up_text
from calc.setup import consistency, demos, link
from calc.setup.file import from_file
from calc.setup.model import MODEL, take_in
from calc.setup.vehicle import ranging
from tests.calc.set_up_strategies import fullest, model_with_one_more_field
from tests.calc.test_set_up_starts import NEEDED

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "calc/setup/demos"
ISLAND, DESERT = (str(FOLDER / f"{name}.json") for name in demos.NAMES)
every_check = pytest.mark.parametrize("check_id", calc.checks())
every_demo = pytest.mark.parametrize("name", demos.NAMES)


def run(capsys, *arguments):
    code = main(list(arguments))
    said = capsys.readouterr()
    return code, said.out, said.err


def words(check_id):
    return [f"{key}={text}" for key, text in NEEDED.get(check_id, {}).items()]


def plain(text):
    return " ".join(text.split())


# A check from a set-up


@every_check
@pytest.mark.parametrize("form", [["--setup", ISLAND], [f"--setup={ISLAND}"]], ids=["apart", "joined"])
def test_a_check_answers_from_a_set_up(capsys, check_id, form):
    expected = calc.run(check_id, NEEDED.get(check_id, {}), demos.demo("island_van"))
    for arguments in ([*form, *words(check_id)], [*words(check_id), *form]):
        code, out, err = run(capsys, check_id, *arguments, "--json")
        assert code == 0 and not err
        assert json.loads(out) == expected.to_dict()


@every_check
@every_demo
def test_it_says_what_is_assumed(capsys, check_id, name):
    s = demos.demo(name)
    code, out, err = run(capsys, check_id, *words(check_id), "--setup", str(FOLDER / f"{name}.json"))
    assert code == 0 and not err
    answer = calc.run(check_id, NEEDED.get(check_id, {}), s)
    assert plain(answer.verdicts[0].text) in plain(out)
    places = {p for e in answer.inputs.values() if e.start for p in e.start.places}
    unknown = [known for place in places if (known := s.known(*place)).assumed]
    unknown += ranging(s) if calc.checks()[check_id].whole else []
    assert ("Assumed, the most telling first:" in out) == bool(unknown)
    for known in unknown:
        assert plain(f"{known.label}: {known.entry.text}") in plain(out)
        assert plain(known.usual.find) in plain(out)


def test_what_is_typed_overrides_the_set_up(capsys):
    code, out, _ = run(capsys, "cable-drop", "--setup", ISLAND, "length=3 m", "--json")
    told = json.loads(out)["inputs"]
    assert code == 0
    assert told["length"] == {"value": 3.0, "unit": "m", "given": "3 m"}
    assert told["current"]["given"] is None and told["current"]["from"] == "Link, most it draws at its input"


# A set-up of its own


@every_demo
def test_it_reads_a_set_up(capsys, name):
    s = demos.demo(name)
    code, out, err = run(capsys, "set-up", str(FOLDER / f"{name}.json"))
    assert code == 0 and not err
    assert out.startswith(s.name)
    for place in s.places():
        known = s.known(*place)
        assert f"  {known.label}: {known.entry.text}{' (assumed)' if known.assumed else ''}\n" in out
    for note in consistency.notes(s):
        assert plain(note.text) in plain(out)
    (line,) = (line for line in out.splitlines() if line.startswith("Link: #set-up="))
    assert link.from_link(line.removeprefix("Link: #set-up=")) == s
    assert all(len(line) <= WIDTH for line in out.splitlines() if not line.startswith("Link: "))
    assert "\n\n\n" not in out


def test_a_place_reads_well():
    out = plain(set_up_text(demos.demo("desert_truck")))
    for said in (
        "Alternator, kind: Falls as it warms",
        "Second battery, type: Lithium iron phosphate (LFP)",
        "Second battery, age: 1 year ",
        "Cable 2, length one way: 4.5 m",
        "Solar panel 1, tilt: 0° ",
        "Solar panel 2, latitude of the trip: −25°",
        "Mains charger, battery it is set for: AGM",
    ):
        assert said in out


def test_what_cannot_be_read_is_said_with_its_part():
    out = plain(set_up_text(take_in({"starter": {"capacity": "big"}, "load": [{}, {"current": "5 kg"}]})))
    assert "Starter battery: Capacity: “big” does not start with a number." in out
    assert "Load 2: Current while it runs: “kg” measures a mass." in out
    assert "Starter battery, capacity: 70 Ah (assumed)" in out
    assert out.startswith("A set-up with no name")


@pytest.mark.parametrize("text", ["x", "🔋" * 60, '"' * 60])
def test_any_set_up_can_be_printed(text):
    out = set_up_text(fullest(text))
    assert "Traceback" not in out and "None" not in out


@pytest.mark.parametrize(
    "arguments", [["set-up"], ["set-up", "--help"], ["set-up", "-h"], ["set-up", ISLAND, "--help"]]
)
def test_help_lists_every_part_and_field(capsys, arguments):
    code, out, err = run(capsys, *arguments)
    assert code == 0 and not err
    for part, field in MODEL.fields():
        assert f"{part.key}: {part.title}" in out
        assert f"  {field.name:<20} {field.label} ({field.takes})\n" in out + "\n"


def test_a_field_more_in_the_declaration_is_in_the_help():
    assert "rested_at" not in set_up_help()
    assert "  rested_at            Voltage at rest (9 to 15\u00a0V)" in set_up_help(model_with_one_more_field())


def test_the_list_of_checks_names_the_set_up(capsys):
    _, out, _ = run(capsys)
    assert "set-up" in out and "--setup FILE" in out


# What goes wrong


def bad_files(folder: Path) -> dict[str, str]:
    """Write files that hold no set-up; return for each what is said of it."""
    content = {
        "empty.json": (b"", "damaged"),
        "cut.json": (demos.text("island_van")[:300].encode(), "damaged"),
        "other.json": (b'{"a": 1}', "not a set-up"),
        "newer.json": (b'{"format": "second-battery-set-up", "version": 2}', "newer edition"),
        "picture.json": (b"\x89PNG\r\n\x1a\n\xff\xfe\x00", "not plain text"),
        "utf16.json": (demos.text("island_van").encode("utf-16"), "not plain text"),
        "nul.json": (b"\x00" * 100, "damaged"),
        "huge.json": (b" " * 300_000, "too large"),
        "deep.json": (b"[" * 60_000, "damaged"),
        "field.json": (b'{"format": "second-battery-set-up", "version": 1, "mains": {"colour": "red"}}', "colour"),
    }
    for name, (text, _) in content.items():
        (folder / name).write_bytes(text)
    return {str(folder / name): said for name, (_, said) in content.items()}


def test_a_file_that_holds_no_set_up_exits_2_with_one_sentence(capsys, tmp_path):
    for path, said in bad_files(tmp_path).items():
        for arguments in (
            ["set-up", path],
            ["cable-drop", "--setup", path],
            ["cable-drop", f"--setup={path}", "--json"],
        ):
            code, out, err = run(capsys, *arguments)
            assert code == 2 and not out, path
            assert said in err, path
            assert len(err.strip().splitlines()) == 1 and len(err) < 300 and "Traceback" not in err


@pytest.mark.parametrize("path", ["", "no-such.json", ".", "/", "\x00", "x" * 5000, "\udcff", "a/b/c.json", "<script>"])
def test_a_file_that_is_not_there_exits_2_with_one_sentence(capsys, path):
    for arguments in (["set-up", path], ["cable-drop", f"--setup={path}"], ["cable-drop", "--setup", path]):
        code, out, err = run(capsys, *arguments)
        assert code == 2 and not out
        assert "cannot be read" in err and len(err.strip().splitlines()) == 1
        err.encode("utf-8")


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no endless file here")
def test_an_endless_file_is_too_large(capsys):
    code, _, err = run(capsys, "set-up", "/dev/zero")
    assert code == 2 and "too large" in err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["cable-drop", "--setup"], "Name a file after --setup"),
        (["cable-drop", "length=6", "--setup"], "Name a file after --setup"),
        (["cable-drop", "--setup", ISLAND, "length"], "field=value"),
        (["cable-drop", "--setup", ISLAND, "--setup", DESERT], "field=value"),
        (["cable-drop", "--setup", ISLAND, "length=5 kg"], "measures a mass"),
        (["cable-drop", "--setup", ISLAND, "colour=red"], "no field"),
        (["resting-voltage", "--setup", ISLAND], "Give the"),
        (["no-such-check", "--setup", ISLAND], "There is no check"),
        (["set-up", ISLAND, DESERT], "one file"),
        (["set-up", "--json"], "cannot be read"),
    ],
)
def test_bad_input_exits_2(capsys, arguments, said):
    code, out, err = run(capsys, *arguments)
    assert code == 2 and not out
    assert said in err and len(err.strip().splitlines()) == 1


def test_a_file_with_a_mark_of_its_byte_order_is_read(capsys, tmp_path):
    path = tmp_path / "van.json"
    path.write_text("\ufeff" + demos.text("island_van"), "utf-8")
    assert run(capsys, "set-up", str(path))[0] == 0
    assert from_file("\ufeff" + demos.text("island_van")) == demos.demo("island_van")


def test_it_runs_as_a_program():
    environment = {"PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "ascii", "LC_ALL": "C", "PATH": ""}
    for arguments, code in (
        (["set-up", DESERT], 0),
        (["cable-drop", "--setup", DESERT], 0),
        (["set-up", "none.json"], 2),
    ):
        done = subprocess.run(
            [sys.executable, "-m", "calc", *arguments], capture_output=True, cwd=ROOT, env=environment, check=False
        )
        assert done.returncode == code, done.stderr.decode()
        assert bool(done.stdout) == (code == 0) and b"Traceback" not in done.stderr
