"""The book's colours by day and by night, read from the style sheet, and how far each pair is from what it stands on.

Every text has to be 7:1 with every ground that it may stand on (WCAG 2.2, 1.4.6); the ratio is WCAG's own formula.
"""

from __future__ import annotations

import colorsys
import re
from functools import cache
from pathlib import Path

from site_src import settings

STYLE = Path(__file__).parent / "static" / "style.css"
TIMES = ("day", "night")
PARTS = {"ground": "paper", "accent": "act"}
"""What a club may set, and the colour of the style sheet that stands for it."""

GROUNDS = ("paper", "sheet", "wash")
INKS = ("ink", "soft", "link", "ok", "caution", "stop")
"""What is read, on any of the grounds."""

LEAST = 7.0
STEPS = 1000
"""How finely the nearest lightness is looked for."""

LIFTS = {
    "day": {"sheet": ("#ffffff", 1.0), "wash": ("ink", 0.06)},
    "night": {"sheet": ("ink", 0.05), "wash": ("ink", 0.1)},
}
"""How far the other grounds go from a club's ground towards another colour, much as in the plain book."""


@cache
def _declared() -> dict[str, dict[str, str]]:
    """Return the colours that the style sheet declares, by day and by night."""
    text = STYLE.read_text("utf-8").replace("@@paper@@", settings.PAPER).replace("@@night@@", settings.NIGHT)
    blocks = re.findall(r":root \{(.*?)\}", text, re.DOTALL)[:2]
    return {
        time: dict(re.findall(r"--([\w-]+): (#[0-9a-f]+);", block)) for time, block in zip(TIMES, blocks, strict=True)
    }


def plain(time: str) -> dict[str, str]:
    """Return the plain book's colours by day or by night."""
    return dict(_declared()[time])


def channels(colour: str) -> tuple[float, ...]:
    """Return red, green and blue, 0 to 1."""
    return tuple(int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5))


def written(parts: tuple[float, ...]) -> str:
    """Return red, green and blue as a colour is written."""
    return "#" + "".join(f"{round(255 * min(max(part, 0), 1)):02x}" for part in parts)


def contrast(one: str, other: str) -> float:
    """Return how far two colours are apart, 1 to 21, by WCAG's formula.

    Examples
    --------
    >>> contrast("#000000", "#ffffff")
    21.0
    """

    def luminance(colour: str) -> float:
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels(colour)]
        return sum(weight * c for weight, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))

    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def mixed(colour: str, towards: str, share: float) -> str:
    """Return a colour part of the way to another."""
    pairs = zip(channels(colour), channels(towards), strict=True)
    return written(tuple(a + share * (b - a) for a, b in pairs))


def palette(time: str, ground: str = "", accent: str = "") -> dict[str, str]:
    """Return every colour by day or by night, with a club's ground and accent in it."""
    made = plain(time)
    if ground:
        made["paper"] = ground
        for name, (towards, share) in LIFTS[time].items():
            made[name] = mixed(ground, made.get(towards, towards), share)
    if accent:
        made["link"] = made["act"] = accent
        made["on-act"] = max(("#ffffff", "#000000"), key=lambda ink: contrast(accent, ink))
    return made


def pairs(made: dict[str, str], inks: tuple[str, ...] = INKS) -> dict[str, float]:
    """Return the ratio of every pair of an ink and a ground, by the two names, and of what stands on a button."""
    found = {f"{ink} on {ground}": contrast(made[ink], made[ground]) for ink in inks for ground in GROUNDS}
    return found | {"on-act on act": contrast(made["on-act"], made["act"])}


def worst(time: str, chosen: dict[str, str], part: str) -> tuple[str, float]:
    """Return the pair that is nearest together of those that a ground or an accent is in, and its ratio.

    Where a club sets both, the accent is judged on the ground, and the ground without it.
    """
    inks = ("link",) if part == "accent" else tuple(ink for ink in INKS if ink != "link" or "accent" not in chosen)
    found = pairs(palette(time, **chosen), inks)
    if part == "ground":
        del found["on-act on act"]
    return min(found.items(), key=lambda pair: pair[1])


def nearest(time: str, chosen: dict[str, str], part: str) -> str:
    """Return the same colour at the nearest lightness that will do; "" where none will."""
    hue, lightness, saturation = colorsys.rgb_to_hls(*channels(chosen[part]))
    for step in range(1, STEPS + 1):
        for moved in (lightness - step / STEPS, lightness + step / STEPS):
            if 0 <= moved <= 1:
                tried = written(colorsys.hls_to_rgb(hue, moved, saturation))
                if worst(time, chosen | {part: tried}, part)[1] >= LEAST:
                    return tried
    return ""


def refused(time: str, chosen: dict[str, str]) -> str:
    """Return why a club's colours cannot be taken, in a sentence; "" where they can."""
    for part in PARTS:
        if part not in chosen:
            continue
        pair, ratio = worst(time, chosen, part)
        if ratio < LEAST:
            better = nearest(time, chosen, part)
            advice = (
                f'The nearest lightness that will do: {part} = "{better}".' if better else "No lightness of it will do."
            )
            made = palette(time, **chosen)
            ink, ground = (made[name] for name in pair.split(" on "))
            shown = int(100 * ratio) / 100
            return (
                f"{part} {chosen[part]} cannot be read: {ink} on {ground} ({pair}) is {shown:.2f}:1, and every pair "
                f"must be at least {LEAST:g}:1. {advice}"
            )
    return ""


def styled(text: str, palettes: dict[str, dict[str, str]]) -> str:
    """Return the style sheet with these colours by day and by night."""
    blocks = iter(TIMES)

    def block(found: re.Match) -> str:
        made = palettes[next(blocks)]
        return re.sub(r"--([\w-]+): (?:#[0-9a-f]+|@@\w+@@);", lambda one: f"--{one[1]}: {made[one[1]]};", found[0])

    return re.sub(r":root \{.*?\}", block, text, count=2, flags=re.DOTALL)
