"""Runs inside the engine, under node: compiles Python to the engine's own bytecode, or exercises what is to ship.

One job as JSON on standard input, its result as JSON on standard output.
"""

import base64
import importlib._bootstrap_external
import importlib.util
import json
import sys


def compile_all(job):
    """Compiles sources to bytecode that is never checked against a source, as none is shipped."""
    return {
        path + "c": base64.b64encode(bytecode(path, text, job["optimize"])).decode()
        for path, text in job["sources"].items()
    }


def bytecode(path, text, optimize):
    """The content of one .pyc file."""
    code = compile(text, path, "exec", dont_inherit=True, optimize=optimize)
    source_hash = importlib.util.source_hash(text.encode())
    return bytes(importlib._bootstrap_external._code_to_hash_pyc(code, source_hash, False))


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
