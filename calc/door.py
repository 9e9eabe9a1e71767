"""The one door for the worker: JSON text in, JSON text out. Nothing that a reader typed becomes code."""

from __future__ import annotations

import json

import calc


def ask(request: str) -> str:
    """Return the answer to a request, both as JSON text.

    Parameters
    ----------
    request : `{"check": id, "inputs": {field: text}}`

    Returns
    -------
    text : `{"answer": …}` as `Answer.to_dict`, or `{"errors": {field: sentence}}`
    """
    try:
        asked = json.loads(request)
        found = calc.run(str(asked["check"]), dict(asked["inputs"]))
    except calc.InputError as problem:
        return json.dumps({"errors": problem.errors}, ensure_ascii=False)
    return json.dumps({"answer": found.to_dict()}, ensure_ascii=False, allow_nan=False)
