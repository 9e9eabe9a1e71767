"""Docstrings of the physics are machinery: names, units and signature cannot drift apart."""

import importlib
import inspect
import pkgutil
import re

import pytest

import calc.physics
from calc.glossary import QUANTITIES

UNITS = {q.unit for q in QUANTITIES.values()} | {"-"}


def public_functions():
    for module in pkgutil.iter_modules(calc.physics.__path__):
        found = importlib.import_module(f"calc.physics.{module.name}")
        for name, thing in vars(found).items():
            function = inspect.unwrap(thing) if callable(thing) else thing
            if inspect.isfunction(function) and function.__module__ == found.__name__ and name[0] != "_":
                yield pytest.param(function, id=f"{module.name}.{name}")


def section(text, title):
    """Return the entries of a section: name → its words, continuation lines joined."""
    match = re.search(rf"^{title}\n-+\n(.*?)(?=\n\n\w[\w ]*\n-+\n|\Z)", text, re.DOTALL | re.MULTILINE)
    entries = {}
    name = None
    for line in match[1].splitlines() if match else ():
        if head := re.match(r"(\w[\w, ]*?) : (.*)", line):
            name = head[1]
            entries[name] = head[2]
        elif name and line.strip():
            entries[name] += " " + line.strip()
    return entries


def units_of(words):
    """Return the units in square brackets at the end of a line, or none."""
    match = re.search(r"((?:\[[^\]]+\](?:, )?)+)\.?$", words)
    return re.findall(r"\[([^\]]+)\]", match[1]) if match else []


functions = list(public_functions())


@pytest.mark.parametrize("function", functions)
def test_a_function_is_documented_whole(function):
    text = inspect.getdoc(function)
    assert text, "no docstring"
    first = text.splitlines()[0]
    assert re.match(r"Return|Say|Name|Record", first), first
    assert ">>> " in text or simple(function, text), "no example that runs"


def simple(function, text):
    """One-line helpers, explained in a line and shown by their callers, need no example."""
    return len(text.splitlines()) == 1 and len(inspect.signature(function).parameters) <= 1


@pytest.mark.parametrize("function", functions)
def test_parameters_are_those_of_the_signature(function):
    text = inspect.getdoc(function)
    if simple(function, text) or "Parameters" not in text:
        assert len(inspect.signature(function).parameters) <= 1, "no Parameters section"
        return
    named = [name.strip() for key in section(text, "Parameters") for name in key.split(",")]
    assert named == list(inspect.signature(function).parameters)


@pytest.mark.parametrize("function", functions)
def test_every_parameter_and_return_ends_with_a_unit_of_the_glossary(function):
    text = inspect.getdoc(function)
    for title in ("Parameters", "Returns"):
        for name, words in section(text, title).items():
            found = units_of(words)
            if not found and not_a_number(function, name, title):
                continue
            assert found, f"{title}: {name} has no unit: {words}"
            assert set(found) <= UNITS, f"{title}: {name}: {found}"


def not_a_number(function, name, title):
    """Return whether a returned thing is an object of our own, which documents its own units."""
    hint = str(inspect.signature(function).return_annotation)
    return title == "Returns" and re.sub(r"[\W_]|None", "", hint) not in ("float", "int")


def test_there_are_functions_to_look_at():
    assert len(functions) >= 20
