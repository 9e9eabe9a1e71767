"""The examples in the docstrings run as they stand."""

import doctest
import importlib
import pkgutil

import pytest

import calc

MODULES = sorted(m.name for m in pkgutil.walk_packages(calc.__path__, "calc.") if not m.name.endswith("__main__"))


@pytest.mark.parametrize("name", MODULES)
def test_examples_run(name):
    module = importlib.import_module(name)
    outcome = doctest.testmod(module)
    assert outcome.failed == 0


def test_there_are_examples():
    finder = doctest.DocTestFinder()
    found = sum(len(test.examples) for name in MODULES for test in finder.find(importlib.import_module(name)))
    assert found >= 30
