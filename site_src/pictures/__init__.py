"""The guides' pictures: one for each, drawn as the site is built, its numbers from `calc`.

A picture is a function of its own name in one of the modules below, which returns the drawing together with the words
for who cannot see it: both are made of the same numbers. Ink is the page's own
(`currentColor`), no style is written (the site's policy bars it), and strokes and labels tell things apart, not colour.
Nothing of this ships to phones, as matplotlib would be far too large for them.
"""

from __future__ import annotations

from functools import cache
from html import escape

from calc import edition
from site_src.pictures import batteries, charging, systems, trips, wiring
from site_src.pictures.picture import Picture

DRAWN = {
    function.__name__.replace("_", "-"): function
    for module in (batteries, charging, systems, trips, wiring)
    for function in module.PICTURES
}
"""Every picture's function, by the name that a guide gives."""


def picture(name: str) -> Picture:
    """Return a picture; KeyError lists the names there are."""
    if name not in DRAWN:
        raise KeyError(f"no picture “{name}”; there are: {', '.join(sorted(DRAWN))}")
    return _drawn(name, edition.current())


@cache
def _drawn(name: str, _: edition.Edition) -> Picture:
    """Return a picture with its words as an edition says them."""
    return DRAWN[name]()


def figure(name: str) -> str:
    """Return a picture with its words below, as HTML."""
    shown, key = picture(name), f"picture-{name}"
    return (
        f'<figure><svg xmlns="http://www.w3.org/2000/svg" class="plot" viewBox="0 0 {shown.width:g} {shown.height:g}" '
        f'role="img" aria-labelledby="{key}" aria-describedby="{key}-words" fill="none" stroke="currentColor" '
        f'stroke-width="2" stroke-linecap="round" stroke-linejoin="round">'
        f'<title id="{key}">{escape(shown.title)}</title>'
        f'{shown.svg}</svg><figcaption class="words" id="{key}-words">{escape(shown.words)}</figcaption></figure>'
    )
