"""The one door for the worker: JSON text in, JSON text out. Nothing that a reader typed becomes code."""

from __future__ import annotations

import json
from collections.abc import Callable

import calc
from calc.check import Answer


def ask(request: str, present: Callable[[Answer], dict] = Answer.to_dict) -> str:
    """Return the answer to a request, both as JSON text.

    Parameters
    ----------
    request : `{"check": id, "inputs": {field: text}}` [-]
    present : what to make of the answer; its plain JSON form unless the page wants markup [-]

    Returns
    -------
    text : what `present` made, or `{"errors": {field: sentence}}` [-]

    Examples
    --------
    >>> ask('{"check": "cable-drop", "inputs": {"current": "x", "length": "6 m"}}')[:37]
    '{"errors": {"current": "Current: “x” '
    """
    asked = json.loads(request)
    try:
        reply = present(calc.run(str(asked["check"]), dict(asked["inputs"])))
    except calc.InputError as problem:
        reply = {"errors": problem.errors}
    return json.dumps(reply, ensure_ascii=False, allow_nan=False)
