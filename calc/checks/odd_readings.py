"""What a reading means that is none of a 12 V battery at rest: the words to the table `odd_readings`."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Meaning:
    """What an odd reading means: level, the short word in place of a charge, what it says, what to do."""

    level: str
    short: str
    text: str
    because: str
    empty: bool = False


MEANINGS = {
    "reversed": Meaning(
        "caution",
        "none: the leads are reversed",
        "The meter's leads are the wrong way round.",
        "Red goes to the post marked +, black to −. Change them over and read again. Should it still be negative, the "
        "battery was charged the wrong way round: it is done for; do not connect it.",
    ),
    "nothing": Meaning(
        "caution",
        "none: no voltage",
        "Nothing arrives: an open fuse, a loose lead, or the meter on the wrong range.",
        "Set the meter to volts d.c. and read on the battery's own posts. If there is still nothing, the battery is "
        "dead.",
    ),
    "nothing lfp": Meaning(
        "caution",
        "none: no voltage",
        "Nothing arrives: an open fuse, the meter on the wrong range, or the battery's own protection has cut off.",
        "Set the meter to volts d.c. and read on the battery's own posts. A battery that has cut off wakes when a "
        "charger made for LFP is put on it, above 0 °C, with all loads off.",
    ),
    "nearly_nothing": Meaning(
        "stop",
        "none: next to no voltage",
        "Next to nothing: a bad contact, or a battery that is flat to the bottom and most likely done for.",
        "Read again on the posts themselves with everything off. A battery this low should not be charged unwatched.",
        empty=True,
    ),
    "nearly_nothing lfp": Meaning(
        "caution",
        "none: next to no voltage",
        "Next to nothing: the battery's own protection has cut off, or a contact is bad.",
        "What the meter shows then is no more than leakage. Take all loads off and put a charger made for LFP on it, "
        "above 0 °C. If that does not wake it, it is for the maker.",
        empty=True,
    ),
    "six_volts": Meaning(
        "caution",
        "none: a 6 V reading",
        "This is the voltage of a 6 V battery, or of half of a 12 V one.",
        "Two 6 V blocks in series: you read one of them. A single 12 V battery: half its cells are gone, so do not "
        "charge it.",
    ),
    "six_volts lfp": Meaning(
        "caution",
        "none: a 6 V reading",
        "This is the voltage of a 6 V battery, or of one whose own protection has cut off.",
        "Read again with all loads off. If it is the 12 V LFP battery, put a charger made for it on, above 0 °C; if "
        "that does not wake it, it is for the maker.",
    ),
    "cells_gone": Meaning(
        "stop",
        "none: cells are missing",
        "Two cells or more are dead, or the battery is flat to the bottom.",
        "A 12 V battery has six cells of about 2 V. Do not leave it on charge: the good cells gas hard. Have it tested "
        "or replace it.",
        empty=True,
    ),
    "dead_cell": Meaning(
        "stop",
        "none: one cell seems dead",
        "One of the six cells seems dead.",
        "A cell is about 2 V, and a flat battery that has rested still reads above about 11.6 V. Charge it watched and "
        "let it rest: if it comes back to this, replace it. Until then it overcharges whenever it is charged.",
        empty=True,
    ),
    "protection": Meaning(
        "caution",
        "none: flat below its curve",
        "Flat to the bottom: its own protection has cut off or is about to.",
        "Take all loads off and charge it now with a charger made for LFP, above 0 °C. Left like this it is lost.",
        empty=True,
    ),
    "surface": Meaning(
        "caution",
        "none: not at rest yet",
        "That is surface charge or a charger, not a resting battery.",
        "Switch off and unplug whatever charges it, let it rest at least 8 h, better 24 h, and read again.",
    ),
    "charger": Meaning(
        "caution",
        "none: something charges it",
        "That is a charger, not a resting battery.",
        "An engine, a mains charger or the sun holds it up, or did until just now. Stop that, let it rest at least "
        "8 h, better 24 h, and read again.",
    ),
    "overcharge": Meaning(
        "stop",
        "none: far too high",
        "Far too high: a charger or alternator is out of order. Stop it now.",
        "Nothing that charges a 12 V battery should hold it above 15 V, apart from an equalising charge of a flooded "
        "battery that someone started on purpose. Switch off the engine or unplug the charger, and let the battery "
        "cool.",
    ),
    "panel": Meaning(
        "stop",
        "none: not a 12 V battery",
        "No 12 V battery reads this. A bare solar panel does.",
        "Check what the leads touch. If it is the battery, disconnect what charges it at once.",
    ),
    "higher_system": Meaning(
        "stop",
        "none: a 24 V system or higher",
        "This is a 24 V system or higher. This book is for 12 V.",
        "Nothing here holds for it. Do not connect 12 V gear to it.",
    ),
}
"""What odd readings mean, by key of the table `odd_readings`; a key with “lfp” goes first for that battery type."""
