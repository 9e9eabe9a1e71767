"""The phone's Python gives the same answers as the host's: every published row, and every check's example whole."""

import json
import math
from pathlib import Path

import pytest

import calc
from site_src import builder, runtime
from tests.published.compute import compute
from tests.published.published import rows

pytestmark = pytest.mark.wasm

AGREEMENT = 1e-12
PROGRAM = """
import json, sys
import calc
from tests.published.compute import compute

asked = json.load(sys.stdin)
print(json.dumps({
    "rows": [compute(row) for row in asked["rows"]],
    "examples": {name: calc.run(name, inputs).to_dict() for name, inputs in asked["examples"].items()},
}))
"""
EXAMPLES = {check.id: dict(check.example) for check in calc.checks().values()}


@pytest.fixture(scope="module")
def phone(tmp_path_factory):
    """What the phone's Python, with the library that ships, makes of all rows and examples."""
    compute_file = Path(__file__).with_name("compute.py").read_bytes()
    tests = {"tests/__init__.py": b"", "tests/published/__init__.py": b"", "tests/published/compute.py": compute_file}
    files = runtime.engine_files(builder.book_sources() | tests, print, builder.EXERCISE)
    program = tmp_path_factory.mktemp("phone") / "compute_all.py"
    program.write_text(PROGRAM, "utf-8")
    return json.loads(runtime.run_python(files, program, json.dumps({"rows": rows(), "examples": EXAMPLES})))


def test_every_published_row_agrees(phone):
    host = [compute(row) for row in rows()]
    assert len(phone["rows"]) == len(host) > 0
    for row, there, here in zip(rows(), phone["rows"], host, strict=True):
        assert math.isclose(there, here, rel_tol=AGREEMENT, abs_tol=AGREEMENT), row


@pytest.mark.parametrize("check_id", EXAMPLES)
def test_every_example_agrees(phone, check_id):
    here = calc.run(check_id, EXAMPLES[check_id]).to_dict()
    there = phone["examples"][check_id]
    assert without_numbers(there) == without_numbers(here)
    for mine, other in zip(numbers(here), numbers(there), strict=True):
        assert math.isclose(other, mine, rel_tol=AGREEMENT, abs_tol=AGREEMENT)


def numbers(thing):
    """Return every number in a JSON value, in order."""
    if isinstance(thing, dict):
        return [n for key in sorted(thing) for n in numbers(thing[key])]
    if isinstance(thing, list):
        return [n for part in thing for n in numbers(part)]
    return [thing] if isinstance(thing, int | float) and not isinstance(thing, bool) else []


def without_numbers(thing):
    """Return a JSON value with every number put out; what is left has to be the same to the letter."""
    if isinstance(thing, dict):
        return {key: without_numbers(part) for key, part in thing.items()}
    if isinstance(thing, list):
        return [without_numbers(part) for part in thing]
    return "number" if isinstance(thing, int | float) and not isinstance(thing, bool) else thing
