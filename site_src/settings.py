"""The site's settings: each stated once, here."""

import base64
import hashlib
from pathlib import Path

from markupsafe import Markup

TEMPLATES = Path(__file__).parent / "templates"

NAME = "Second Battery Field Book"
SHORT_NAME = "Battery Book"
LANGUAGE = "en"

PAPER, NIGHT = "#fbf7ee", "#16120d"
"""The ground of a page by day and by night; the style sheet and the browser's own bars take them from here."""

ONE_FILE, ONE_FILE_SIZE = "field-book.html", "6 MB"
"""The whole book in one file, and how much that is, for who takes it along."""

DESCRIPTION = (
    "Cable, fuse, charge and charging voltage for a second 12 V battery in a vehicle. Works on a phone with no signal."
)
PROMISE = (
    "This book answers on the phone itself. It asks no other site for anything, and nothing you type is sent anywhere."
)
LIMITS = (
    "It works out direct-current wiring at 12 V. It does not cover mains wiring, and it does not replace the vehicle's "
    "or the battery's maker, a local wiring code, or a licensed person where the law asks for one."
)
TASKS = (
    ("camp", "At camp"),
    ("vehicle", "Beside the vehicle"),
    ("home", "At home, before the trip"),
)
"""Where a question comes up, in the order of the home page."""

LOST_STYLE, LOST_SCRIPT = (Markup((TEMPLATES / name).read_text("utf-8")) for name in ("lost.css", "lost.js"))
"""What 404.html holds in itself: it is shown at any depth, so that nothing beside it can be named."""


def named_by_hash(text: str) -> str:
    """Return how a policy names one text that a page may hold in itself."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


# Everything comes from the site itself; WebAssembly, and the two texts in 404.html, are all that runs beyond its files.
CSP = "; ".join(
    (
        "default-src 'none'",
        f"script-src 'self' 'wasm-unsafe-eval' {named_by_hash(LOST_SCRIPT)}",
        f"style-src 'self' {named_by_hash(LOST_STYLE)}",
        "img-src 'self' data:",
        "font-src 'self'",
        "connect-src 'self'",
        "worker-src 'self'",
        "manifest-src 'self'",
        "form-action 'none'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)

PAGE_CSP = CSP.rpartition("; ")[0]
"""The same policy for the page itself: a page cannot say who may frame it."""

TYPES = {
    "bin": "application/octet-stream",
    "css": "text/css; charset=utf-8",
    "html": "text/html; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "json": "application/json; charset=utf-8",
    "png": "image/png",
    "svg": "image/svg+xml; charset=utf-8",
    "txt": "text/plain; charset=utf-8",
    "wasm": "application/wasm",
    "webmanifest": "application/manifest+json; charset=utf-8",
    "zip": "application/zip",
}
"""What a file is, by its ending: browsers insist on the right types, and the saved copy carries them along."""
