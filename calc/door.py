"""The one door for the worker: JSON text in, JSON text out. Nothing that a reader typed becomes code."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping

import calc
from calc.errors import InputError
from calc.setup import file, link
from calc.setup.model import SetUp, SetUpError

Doer = Callable[[dict], dict]


def ask(request: str, doers: Mapping[str, Doer] | None = None) -> str:
    """Return what a request asks for, both as JSON text.

    Parameters
    ----------
    request : `{"do": what, …}`; without "do" it asks a check: `{"check": id, "inputs": {field: text}}`, and starts
        from a set-up where "set_up" holds the text of its file or "link" its link [-]
    doers : what can be done, by name; the plain answer unless the page brings its own [-]

    Returns
    -------
    text : what was made, or `{"errors": {field: sentence}}` for bad input, or `{"error": sentence}` for a set-up that
        cannot be taken in [-]

    Examples
    --------
    >>> ask('{"check": "cable-drop", "inputs": {"current": "x", "length": "6 m"}}')[:37]
    '{"errors": {"current": "Current: “x” '
    """
    asked = json.loads(request)
    try:
        made = (doers or DOERS)[asked.get("do", "answer")](asked)
    except InputError as problem:
        made = {"errors": problem.errors}
    except SetUpError as problem:
        made = {"error": str(problem)}
    return json.dumps(made, ensure_ascii=False, allow_nan=False)


def set_up_of(asked: dict) -> SetUp | None:
    """Return the set-up that a request brings, or None."""
    if asked.get("set_up"):
        return file.from_file(str(asked["set_up"]))
    return link.from_link(str(asked["link"])) if asked.get("link") else None


def answer(asked: dict) -> dict:
    """Return a check's answer in its plain JSON form."""
    return calc.run(str(asked["check"]), dict(asked["inputs"]), set_up_of(asked)).to_dict()


DOERS: Mapping[str, Doer] = {"answer": answer}
