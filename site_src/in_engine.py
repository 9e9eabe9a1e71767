"""Runs inside the engine, under node: compiles Python to the engine's own bytecode, or exercises what is to ship.

One job as JSON on standard input, its result as JSON on standard output.
"""

import base64
import importlib._bootstrap_external
import json
import sys


def compile_all(job):
    """Compiles sources to bytecode that is never checked against a source, as none is shipped."""
    make = lean_bytecode if job["lean"] else bytecode
    return {path + "c": base64.b64encode(make(path, text)).decode() for path, text in job["sources"].items()}


def bytecode(path, text):
    """The content of one .pyc file of our own: as Python makes it."""
    return unchecked(compile(text, path, "exec", dont_inherit=True, optimize=0))


def lean_bytecode(path, text):
    """The content of one .pyc file of the library: without docstrings, assertions and lines."""
    return unchecked(without_lines(compile(text, path, "exec", dont_inherit=True, optimize=2)))


def without_lines(code):
    """All of a function stands in its first line: an error's way still names each function (a sixth is saved)."""
    units = len(code.co_code) // 2
    table = b"\xef\0" * (units // 8) + (bytes([0xE7 + units % 8, 0]) if units % 8 else b"")  # 8 units, no new line
    inner = tuple(without_lines(each) if hasattr(each, "co_code") else each for each in code.co_consts)
    return code.replace(co_linetable=table, co_consts=inner)


def unchecked(code):
    """A .pyc file that is taken as it is."""
    return bytes(importlib._bootstrap_external._code_to_hash_pyc(code, bytes(8), False))


def exercise(job):
    """Runs the exercise, then stumbles on purpose; tells which files of the library were imported by then."""
    printed, sys.stdout = sys.stdout, sys.stderr
    exec(compile(job["exercise"], "exercise", "exec"), {"__name__": "exercise"})
    stumble()
    sys.stdout = printed
    library = json.__spec__.loader.archive + "/"
    origins = (
        getattr(module.__spec__, "origin", None) or ""
        for module in list(sys.modules.values())
        if getattr(module, "__spec__", None)
    )
    return sorted(origin.removeprefix(library) for origin in origins if origin.startswith(library))


def stumble():
    """What a program does when it fails: an error while another is handled, and the words for both."""
    import traceback

    try:
        try:
            json.loads("{")
        except ValueError:
            "".undefined  # noqa: B018
    except AttributeError:
        traceback.format_exc()


job = json.load(sys.stdin)
print(json.dumps({"compile": compile_all, "exercise": exercise}[job["do"]](job)))
