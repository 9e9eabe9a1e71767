"""Checks for a second battery in a vehicle: tables → physics → checks, in the standard library and pint.

`checks()` lists what can be asked, `run(check_id, inputs)` answers, `InputError` carries a sentence for each field
that cannot be used.
"""

from __future__ import annotations

from collections.abc import Mapping

from calc.check import Answer, Check, answer
from calc.checks import CHECKS
from calc.errors import InputError
from calc.setup.model import SetUp
from calc.units import shorten

__all__ = ["Answer", "Check", "InputError", "checks", "run"]


def checks() -> dict[str, Check]:
    """Return all checks by id, in the order a reader meets them.

    (It takes the name of the package it lists; `from calc.checks import …` works all the same.)
    """
    return CHECKS


def run(check_id: str, inputs: Mapping[str, object], set_up: SetUp | None = None) -> Answer:
    """Return the answer of a check to a mapping of field name to text or number.

    Where a `calc.setup` set-up is given, a field that is left out starts from it.

    Raises
    ------
    InputError
        with one sentence for each field that cannot be used, or for an unknown check.

    Examples
    --------
    >>> run("cable-drop", {"current": "25 A", "length": "6 m", "size": "16 mm2"}).values["drop"].unit
    'V'
    """
    if str(check_id) not in CHECKS:
        raise InputError({"check": f"There is no check “{shorten(check_id)}”; there are {', '.join(CHECKS)}."})
    return answer(CHECKS[str(check_id)], inputs, set_up)
