"""The templates, the same on the host and on the phone: everything is escaped, a missing name is an error."""

from __future__ import annotations

import json
import pkgutil
from functools import cache

import jinja2

from calc.units import sign, told

LEVEL_WORDS = {"ok": "Good", "caution": "Take care", "stop": "Stop"}
"""How a verdict's level is said; it is never told by colour alone."""


def load_template(name: str) -> str | None:
    """Return a template's text, from a folder or from the archive on the phone."""
    try:
        return pkgutil.get_data("site_src", f"templates/{name}").decode("utf-8")
    except OSError:
        return None


@cache
def environment() -> jinja2.Environment:
    """Return the environment of all templates."""
    made = jinja2.Environment(
        loader=jinja2.FunctionLoader(load_template),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    made.globals["level_words"] = LEVEL_WORDS
    made.filters["sign"] = sign
    made.filters["told"] = told
    made.filters["cell"] = cell
    made.filters["json"] = json.dumps
    return made


def cell(value: float | str | None) -> str:
    """Return a table's cell as a reader sees it."""
    return f"{value:g}" if isinstance(value, float) else value or ""


def rendered(template: str, **fills) -> str:
    """Return a template filled in."""
    return environment().get_template(template).render(**fills)
