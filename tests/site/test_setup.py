"""The one entrance: it finds a Python, sets up once, and says in plain words what is missing."""

import ast
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import build
from site_src.trouble import Trouble
from tests.browser import find_browser

ROOT = Path(build.__file__).parent
posix_only = pytest.mark.skipif(os.name == "nt", reason="the stand-ins are shell scripts")


def stand_in(folder: Path, name: str, script: str) -> Path:
    """A program of that name that does what the shell script says."""
    folder.mkdir(parents=True, exist_ok=True)
    program = folder / name
    program.write_text(f"#!/bin/sh\n{script}\n")
    program.chmod(0o755)
    return program


def python(folder: Path, name: str, version: tuple[int, int], ensurepip: bool = True) -> Path:
    """A stand-in that answers as a Python of that version would."""
    answer = f'[[{version[0]}, {version[1]}], "{folder / name}", {str(ensurepip).lower()}]'
    return stand_in(folder, name, f"echo '{answer}'")


@pytest.fixture
def machine(tmp_path, monkeypatch):
    """A machine with nothing on it: an empty PATH, no pyenv, and a Python too old to build with."""
    path = tmp_path / "path"
    path.mkdir()
    monkeypatch.setenv("PATH", str(path))
    monkeypatch.delenv("PYENV_ROOT", raising=False)
    monkeypatch.setattr(build.Path, "home", lambda: tmp_path / "home")
    monkeypatch.setattr(sys, "executable", str(python(tmp_path / "old", "python3", (3, 11))))
    return tmp_path


# What an old Python meets


@pytest.mark.parametrize("name", ["build.py", "site_src/trouble.py", "site_src/__init__.py"])
def test_the_start_is_readable_by_python_3_9(name):
    ast.parse((ROOT / name).read_text("utf-8"), feature_version=(3, 9))


def old_pythons() -> list[Path]:
    found = Path.home().glob(".pyenv/versions/3.*/bin/python3")
    return sorted(path for path in found if int(path.parts[-3].split(".")[1]) < 12)


@pytest.mark.parametrize("old", old_pythons(), ids=lambda path: path.parts[-3])
def test_an_old_python_either_starts_or_says_what_it_needs(old):
    done = subprocess.run([old, "build.py", "--help"], cwd=ROOT, capture_output=True, text=True)
    version = tuple(map(int, old.parts[-3].split(".")))
    if version >= (3, 9):
        assert done.returncode == 0
        assert "build" in done.stdout
    else:
        assert done.returncode == 1
        assert done.stderr.startswith("build.py needs Python 3.9 or newer to start")


# Finding a Python


@posix_only
def test_the_running_python_is_taken_if_it_will_do(machine, monkeypatch):
    running = python(machine / "own", "python3", (3, 12))
    monkeypatch.setattr(sys, "executable", str(running))
    python(machine / "path", "python3.14", (3, 14))
    assert build.find_python().path == str(running)


@posix_only
def test_the_newest_known_python_is_taken(machine):
    for minor in (11, 12, 13):
        python(machine / "path", f"python3.{minor}", (3, minor))
    assert build.find_python().version == (3, 13)


@posix_only
def test_a_python_newer_than_the_pins_were_tried_on_is_second_choice(machine):
    python(machine / "path", "python3", (3, 99))
    assert build.find_python().version == (3, 99)
    python(machine / "path", "python3.12", (3, 12))
    assert build.find_python().version == (3, 12)


@posix_only
def test_a_shim_that_fails_is_passed_over_for_an_installed_version(machine):
    stand_in(machine / "path", "python3.13", "echo 'pyenv: python3.13: command not found' >&2; exit 127")
    real = python(machine / "home/.pyenv/versions/3.12.1/bin", "python3", (3, 12))
    assert build.find_python().path == str(real)


@posix_only
def test_uv_is_asked_to_install_one_when_it_has_none(machine):
    brought = python(machine / "uv", "python3", (3, 13))
    stand_in(
        machine / "path",
        "uv",
        f"""
        if [ "$2" = install ]; then : > {machine}/installed; exit 0; fi
        if [ -e {machine}/installed ]; then echo {brought}; else exit 2; fi""",
    )
    assert build.find_python().path == str(brought)


@posix_only
def test_no_python_is_said_with_every_way_to_get_one(machine):
    with pytest.raises(Trouble) as trouble:
        build.find_python()
    words = str(trouble.value)
    assert "Python 3.12 or newer, and none was found" in words
    assert all(way in words for way in ("apt install", "pyenv install", "uv python install", "python.org"))


@posix_only
def test_a_program_that_answers_nonsense_is_no_python(machine):
    assert build.examine([str(stand_in(machine, "odd", "echo hello"))]) is None


# Making the environment


@posix_only
def test_a_missing_ensurepip_is_said_with_the_package_that_brings_it(machine, monkeypatch):
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    python(machine / "path", "python3.12", (3, 12), ensurepip=False)
    with pytest.raises(Trouble, match=r"sudo apt install python3\.12-venv"):
        build.make_venv()


@posix_only
def test_root_on_debian_gets_ensurepip_installed(machine, monkeypatch):
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    stand_in(machine / "path", "apt-get", f'echo "$@" >> {machine}/asked')
    build.bring_ensurepip(build.Python((3, 13), "/usr/bin/python3.13", False))
    assert (machine / "asked").read_text() == "update\ninstall -y python3.13-venv\n"


@posix_only
def test_an_environment_whose_python_is_gone_is_made_anew(tmp_path, monkeypatch):
    monkeypatch.setattr(build, "VENV", tmp_path)
    assert not build.venv_works()
    (tmp_path / "bin").mkdir()
    (tmp_path / "bin/python").symlink_to("/nowhere/python3.12")
    assert not build.venv_works()
    (tmp_path / "bin/python").unlink()
    python(tmp_path / "bin", "python", (3, 12))
    assert build.venv_works()


# Installing


@pytest.fixture
def pip(tmp_path, monkeypatch):
    """Records what would be installed, in an environment of its own."""
    calls = []
    monkeypatch.setattr(build, "VENV", tmp_path)
    monkeypatch.setattr(build, "must", lambda command, *_: calls.append(command))
    return calls


def test_a_second_run_installs_nothing(pip):
    build.install("build")
    build.install("build")
    assert len(pip) == 1


def test_changed_pins_are_installed(pip, monkeypatch):
    build.install("build")
    monkeypatch.setattr(build, "requirements", lambda _: ["pint==99"])
    build.install("build")
    assert pip[1][-1] == "pint==99"


def test_a_failed_installation_is_tried_again(pip, monkeypatch):
    def fail(*_):
        raise Trouble("no network")

    monkeypatch.setattr(build, "must", fail)
    with pytest.raises(Trouble):
        build.install("build")
    assert not build.stamp("build").exists()


def test_every_pin_is_exact():
    for extra in ("build", "node", "test"):
        assert all(re.fullmatch(r"[\w.-]+==[\w.]+", pin) for pin in build.requirements(extra))


def test_one_package_has_one_version():
    pins = {pin.partition("==")[0].lower() for pin in build.requirements("build")}
    assert len(pins) == len(build.requirements("build"))


def test_the_phone_has_the_versions_of_the_host():
    from importlib.metadata import version

    phone = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["fieldbook"]["phone"]
    assert {name: version(name) for name in phone} == {name: wheel["version"] for name, wheel in phone.items()}


# The command line


def test_what_follows_test_goes_to_pytest_in_its_order():
    options = build.read_command(["test", "tests/site", "-k", "setup", "-x"])
    assert options.pytest == ["tests/site", "-k", "setup", "-x"]


def test_an_unknown_option_of_build_is_refused(capsys):
    with pytest.raises(SystemExit) as stopped:
        build.read_command(["build", "--fast"])
    assert stopped.value.code == 2
    assert "--fast" in capsys.readouterr().err


def test_trouble_is_printed_as_words_and_ends_with_1(monkeypatch, capsys):
    def fail(_):
        raise Trouble("The cable is too thin.")

    monkeypatch.setattr(build, "install", fail)
    monkeypatch.setattr(build, "inside_venv", lambda: True)
    assert build.main(["build"]) == 1
    assert capsys.readouterr().err == "\nThe cable is too thin.\n"


def test_a_failed_program_shows_its_last_words_and_the_way_out():
    with pytest.raises(Trouble) as trouble:
        build.must([sys.executable, "-c", "raise SystemExit('disk full')"], "Trying", "Make room and try again.")
    assert str(trouble.value) == "disk full\n\nMake room and try again."


def test_only_what_takes_long_is_reported(capsys):
    build.run([sys.executable, "-c", ""], "Being quick")
    assert capsys.readouterr().out == ""
    build.run([sys.executable, "-c", "import time; time.sleep(2.5)"], "Being slow")
    assert capsys.readouterr().out.startswith("Being slow ...\nBeing slow: ")


# The browser for the tests


@posix_only
def test_the_named_browser_is_used(tmp_path, monkeypatch):
    browser = stand_in(tmp_path, "chromium", "echo Chromium 1")
    monkeypatch.setenv(find_browser.VARIABLE, str(browser))
    assert find_browser.find_browser(print) == str(browser)


def test_a_named_browser_that_does_not_run_is_refused(monkeypatch):
    monkeypatch.setenv(find_browser.VARIABLE, "/nowhere/chromium")
    with pytest.raises(Trouble, match="/nowhere/chromium, which does not run"):
        find_browser.find_browser(print)


@posix_only
def test_a_placeholder_that_only_names_a_package_is_no_browser(tmp_path):
    assert not find_browser.runs(str(stand_in(tmp_path, "chromium-browser", "echo 'install the package'; exit 1")))


@posix_only
def test_no_browser_is_said_with_the_way_to_get_one(tmp_path, monkeypatch):
    monkeypatch.delenv(find_browser.VARIABLE, raising=False)
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr(find_browser, "PLACES", {})
    monkeypatch.setattr(find_browser, "of_playwright", lambda: iter(["/nowhere/chrome"]))
    monkeypatch.setattr(find_browser, "attempt", lambda _: False)
    with pytest.raises(Trouble, match="apt install"):
        find_browser.find_browser(lambda _: None)


# The repository


def tracked_files() -> list[Path]:
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    return [path for name in filter(None, listed.split("\0")) if (path := ROOT / name).is_file()]


def test_no_file_names_the_host_of_a_package_registry():
    hosts = [
        ".".join(parts)
        for parts in (
            ("pypi", "org"),
            ("pythonhosted", "org"),
            ("npmjs", "org"),
            ("npmjs", "com"),
            ("deb", "debian", "org"),
            ("jsdelivr", "net"),
            ("unpkg", "com"),
        )
    ]
    named = [
        (path.name, host) for path in tracked_files() for host in hosts if host.encode() in path.read_bytes().lower()
    ]
    assert named == []
