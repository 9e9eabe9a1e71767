"""The usual vehicle: what a check of a whole one works on where no set-up is chosen."""

from __future__ import annotations

from calc.setup.model import SetUp

USUAL_WORDS = (
    "It has one second battery, a fridge that runs by turns, lights in the evening and a phone charger, and the "
    "commonest of everything else."
)
"""The usual vehicle in a sentence."""


def usual_set_up() -> SetUp:
    """Return the usual vehicle: what it has is stated, what each is like is assumed."""
    loads = (
        {"name": "Fridge", "use": "duty"},
        {"name": "Lights", "current": "1.5 A", "use": "timed", "hours": "4 h"},
        {"name": "Phones", "current": "2 A", "use": "timed", "hours": "3 h"},
    )
    return SetUp("", {"load": loads})
