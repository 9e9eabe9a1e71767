#!/usr/bin/env python3
"""The one entrance.

    python3 build.py build      makes the site in dist/
    python3 build.py serve      makes it, and serves it at http://127.0.0.1:8000/
    python3 build.py test       tests everything; what follows goes to pytest

The first run of any of them finds a Python that is new enough, makes an environment of its own in .venv and installs
what pyproject.toml pins. Later runs find it as it is, and need no network.
"""

import sys

if sys.version_info < (3, 9):
    sys.exit(
        "build.py needs Python 3.9 or newer to start, and this is Python %d.%d. "
        "Run it with a newer one, such as python3.12." % sys.version_info[:2]
    )

import argparse
import hashlib
import json
import os
import shutil
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple, Optional

from site_src.trouble import Trouble

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
OLDEST = (3, 12)
TRIED = ((3, 14), (3, 13), (3, 12))  # best first; the pins are known to install on these

NO_PYTHON = """\
The field book is built with Python 3.12 or newer, and none was found on this machine (this is Python {}).
Any one of these brings it:
  - Debian 13, Ubuntu 24.04 or newer:  sudo apt install python3 python3-venv
  - pyenv:                             pyenv install 3.13
  - uv:                                uv python install 3.13
  - Windows and macOS:                 the installer from python.org
Then run the same command again."""

NO_VENV = """\
{python} cannot make an environment, because its module ensurepip is missing (Debian and Ubuntu keep it in a
package of its own). Bring it with:  sudo apt install python{major}.{minor}-venv
Then run the same command again."""


def say(text: str) -> None:
    """Tells the user one thing, at once."""
    print(text, flush=True)


# Running other programs


def run(command: list[str], doing: str, cwd: Path = ROOT) -> "subprocess.CompletedProcess[str]":
    """Runs a program quietly; what it does is said only if it takes more than two seconds."""
    began = time.monotonic()
    with subprocess.Popen(
        command,
        cwd=cwd,
        text=True,
        encoding="utf-8",
        errors="replace",
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
    ) as process:
        try:
            output, _ = process.communicate(timeout=2)
        except subprocess.TimeoutExpired:
            say(f"{doing} ...")
            output, _ = process.communicate()
            say(f"{doing}: {time.monotonic() - began:.0f} s")
    return subprocess.CompletedProcess(command, process.returncode, output)


def must(command: list[str], doing: str, otherwise: str) -> None:
    """Runs a program that has to succeed; if it does not, shows its last words and what to do."""
    done = run(command, doing)
    if done.returncode != 0:
        raise Trouble("\n".join(done.stdout.strip().splitlines()[-15:]) + f"\n\n{otherwise}")


# Finding a Python


class Python(NamedTuple):
    """A Python that was started and has answered."""

    version: tuple
    path: str
    makes_venvs: bool


def examine(command: list[str]) -> Optional[Python]:
    """Starts a Python and asks who it is; None if it does not run (the shims of pyenv exist, and may fail)."""
    question = (
        "import sys, json, importlib.util as u; "
        "print(json.dumps([sys.version_info[:2], sys.executable, bool(u.find_spec('ensurepip'))]))"
    )
    try:
        done = subprocess.run([*command, "-c", question], capture_output=True, text=True, timeout=30, cwd=ROOT)
        version, path, makes_venvs = json.loads(done.stdout)
    except (OSError, ValueError, subprocess.TimeoutExpired):
        return None
    return Python(tuple(version), path, makes_venvs)


def names_on_path() -> Iterator[list[str]]:
    """The usual names of a Python on PATH, and the launcher on Windows."""
    for major, minor in TRIED:
        yield [f"python{major}.{minor}"]
        if os.name == "nt":
            yield ["py", f"-{major}.{minor}"]
    yield ["python3"]
    yield ["python"]


def pythons_of_pyenv() -> Iterator[list[str]]:
    """The versions that pyenv has installed, active or not."""
    for home in (os.environ.get("PYENV_ROOT"), Path.home() / ".pyenv"):
        if home:
            for python in sorted(Path(home).glob("versions/*/bin/python3"), reverse=True):
                yield [str(python)]


def pythons_of_uv() -> Iterator[list[str]]:
    """The Python that uv knows; installed by it if it knows none."""
    uv = shutil.which("uv")
    if not uv:
        return
    wanted = ">={}.{}".format(*OLDEST)
    found = run([uv, "python", "find", wanted], "Asking uv for a Python")
    if found.returncode != 0:
        run([uv, "python", "install", "{}.{}".format(*TRIED[1])], "Installing a Python with uv")
        found = run([uv, "python", "find", wanted], "Asking uv for a Python")
    if found.returncode == 0:
        yield [found.stdout.strip().splitlines()[-1]]


def find_python() -> Python:
    """The running Python if it will do, else the best of those on this machine."""
    for source in (iter([[sys.executable]]), names_on_path(), pythons_of_pyenv(), pythons_of_uv()):
        commands = (command for command in source if shutil.which(command[0]))
        fit = [python for python in map(examine, commands) if python and python.version >= OLDEST]
        if fit:
            return max(fit, key=lambda python: (python.version in TRIED, python.makes_venvs, python.version))
    raise Trouble(NO_PYTHON.format(".".join(map(str, sys.version_info[:3]))))


# The environment


def venv_python() -> Path:
    """Where the environment's own Python is."""
    return VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def inside_venv() -> bool:
    """Whether this very process runs in the environment."""
    return Path(sys.prefix).resolve() == VENV.resolve()


def venv_works() -> bool:
    """Whether the environment is there and its Python (which may have been removed since) still runs."""
    python = examine([str(venv_python())]) if venv_python().exists() else None
    return python is not None and python.version >= OLDEST


def bring_ensurepip(python: Python) -> None:
    """Installs what Debian leaves out of Python; only as root, else the user is told how."""
    major, minor = python.version
    complaint = NO_VENV.format(python=python.path, major=major, minor=minor)
    if not (shutil.which("apt-get") and hasattr(os, "geteuid") and os.geteuid() == 0):
        raise Trouble(complaint)
    run(["apt-get", "update"], "Asking Debian for its list of packages")
    package = f"python{major}.{minor}-venv"
    must(["apt-get", "install", "-y", package], f"Installing {package}", complaint)


def make_venv() -> None:
    """Makes the environment, from the best Python there is."""
    python = find_python()
    uv = shutil.which("uv")
    command = [python.path, "-m", "venv", "--clear", str(VENV)]
    if uv and not python.makes_venvs:
        command = [uv, "venv", "--seed", "--clear", "--python", python.path, str(VENV)]
    elif not python.makes_venvs:
        bring_ensurepip(python)
    say("Making an environment in .venv with Python {}.{}.".format(*python.version))
    must(command, "Making the environment", "The environment could not be made. Remove the folder .venv and try again.")


def enter_venv(arguments: list[str]) -> None:
    """Starts this file again, inside the environment."""
    command = [str(venv_python()), str(Path(__file__).resolve()), *arguments]
    if os.name == "nt":  # there a replaced process gives the prompt back before it is done
        sys.exit(subprocess.call(command))
    os.execv(command[0], command)


# What is installed in it (from here on, Python is 3.12 or newer)


def requirements(extra: str) -> list[str]:
    """The exact pins for one extra; those of the wheels that ship to phones hold on the host as well."""
    import tomllib

    pins = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    phone = [f"{name}=={wheel['version']}" for name, wheel in pins["tool"]["fieldbook"]["phone"].items()]
    return sorted({*pins["project"]["dependencies"], *pins["project"]["optional-dependencies"][extra], *phone})


def stamp(extra: str) -> Path:
    """The file that remembers with which pins an extra was installed."""
    return VENV / f"installed-{extra}.txt"


def fingerprint(pins: list[str]) -> str:
    """Changes with the pins and with the Python that they are installed on."""
    return hashlib.sha256(json.dumps([sys.version, *pins]).encode()).hexdigest()


def install(extra: str) -> None:
    """Installs an extra unless its stamp says that it is there; then nothing is done and no network needed."""
    pins = requirements(extra)
    if stamp(extra).exists() and stamp(extra).read_text("utf-8") == fingerprint(pins):
        return
    must(
        [sys.executable, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", *pins],
        f"Installing what is needed to {extra}",
        "pip could not install what pyproject.toml pins. It needs a network the first time: connect and run again.",
    )
    stamp(extra).write_text(fingerprint(pins), "utf-8")


# The three commands


def build(options: argparse.Namespace) -> int:
    """Makes the site."""
    install("build")
    from site_src import builder

    began = time.monotonic()
    builder.build(options.out, say, options.edition)
    say(f"The site is in {options.out} ({time.monotonic() - began:.1f} s).")
    return 0


def serve(options: argparse.Namespace) -> int:
    """Makes the site and serves it until Ctrl-C."""
    build(options)
    from site_src import serve as local

    with local.start(options.out, port=options.port, host=options.host) as server:
        say(f"Serving at {server.url} (Ctrl-C stops it).")
        server.wait()
    return 0


def test(options: argparse.Namespace) -> int:
    """Runs the tests; each builds what it needs.

    The browser's come last, two at a time: with more, a page is late and a test gives up.
    """
    install("build")
    install("test")
    from tests.browser.find_browser import find_browser

    os.environ["FIELDBOOK_CHROMIUM"] = find_browser(say)
    pytest = [sys.executable, "-m", "pytest"]
    if options.pytest:
        return subprocess.call([*pytest, *options.pytest], cwd=ROOT)
    rest = subprocess.call([*pytest, "-n", "auto", "--dist", "loadfile", "--ignore", "tests/browser"], cwd=ROOT)
    # As they come, not by how many tests a file has: the few with faults take long, and would be last.
    together = ["--dist", "loadfile", "--no-loadscope-reorder"]
    return subprocess.call([*pytest, "-n", "2", *together, "tests/browser"], cwd=ROOT) or rest


def read_command(arguments: list[str]) -> argparse.Namespace:
    """Reads the command line; what `test` does not know goes to pytest."""
    parser = argparse.ArgumentParser(prog="build.py", description="Builds, serves and tests the field book.")
    commands = parser.add_subparsers(dest="command", required=True)
    for function in (build, serve, test):
        command = commands.add_parser(function.__name__, help=function.__doc__)
        command.set_defaults(function=function)
        if function is not test:
            command.add_argument("--out", type=Path, default=ROOT / "dist", help="the folder to make (dist)")
            command.add_argument("--edition", type=Path, help="the settings of a club's edition, a TOML file")
        if function is serve:
            command.add_argument("--host", default="127.0.0.1", help="the address to listen at (127.0.0.1)")
            command.add_argument("--port", type=int, default=8000, help="the port to listen at (8000)")
    options, rest = parser.parse_known_args(arguments)
    if rest and options.function is not test:
        parser.error("unknown: " + " ".join(rest))
    options.pytest = rest
    return options


def main(arguments: list[str]) -> int:
    """Does one command, inside the environment."""
    options = read_command(arguments)
    try:
        if not inside_venv():
            if not venv_works():
                make_venv()
            enter_venv(arguments)
        return options.function(options)
    except Trouble as trouble:
        print(f"\n{trouble}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        return 130


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
