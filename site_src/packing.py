"""Packs an edition for the way to the phone: files together, as small as Python's own library packs, in small pieces.

Fetched from a host that does not compress, this is a quarter of the files. The worker that saves the book unpacks
it with static/unpack.js, which knows this one form, and checks the hash of every file.
"""

from __future__ import annotations

import lzma
import re

from site_src import settings
from site_src.runtime import digest, remember

FORM = [
    {
        "id": lzma.FILTER_LZMA1,
        "preset": 9 | lzma.PRESET_EXTREME,
        "dict_size": 1 << 24,
        "lc": 3,
        "lp": 0,
        "pb": 0,
    }
]
"""No bits of position: neither text nor WebAssembly nor bytecode is laid out in fours."""

PIECE = 128 * 1024
"""What a lost signal may cost at most, for each of a few pieces under way [bytes]."""

APART = ("python.zip", "book.zip")
"""Files of the engine that change on their own; the rest of it changes with the runtime only."""

Files = dict[str, bytes]


def packed(files: Files) -> tuple[list[dict], Files]:
    """Return the packs as the service worker lists them, and their pieces by path."""
    packs, laid_down = [], {}
    for paths in together(files):
        small = squeezed(b"".join(files[path] for path in paths))
        pieces = [small[start : start + PIECE] for start in range(0, len(small), PIECE)]
        listed = [{"hash": digest(piece), "bytes": len(piece)} for piece in pieces]
        packs.append({"files": [entry(path, files[path]) for path in paths], "pieces": listed})
        laid_down |= {place(each["hash"]): piece for each, piece in zip(listed, pieces, strict=True)}
    return packs, laid_down


def together(files: Files) -> list[list[str]]:
    """Return the paths of each pack: what changes together goes together, like beside like."""
    packs = {"runtime": [], **{name: [] for name in APART}, "pages": []}
    for path in sorted(files, key=lambda path: (path.rpartition(".")[2], path)):
        name = path.rpartition("/")[2]
        engine = name if name in APART else "runtime"
        packs[engine if "/engine/" in path else "pages"].append(path)
    return [paths for paths in packs.values() if paths]


def squeezed(content: bytes) -> bytes:
    """Return the content packed; slow, so it is remembered."""
    return remember(
        "packed", [content, repr(FORM).encode()], lambda: lzma.compress(content, lzma.FORMAT_RAW, filters=FORM)
    )


def entry(path: str, data: bytes) -> dict:
    """Return a file as the service worker lists it: under the address that shows it."""
    return {
        "path": re.sub(r"index\.html$", "", path),
        "hash": digest(data),
        "type": settings.TYPES[path.rsplit(".", 1)[1]],
        "bytes": len(data),
    }


def place(name: str) -> str:
    """Return where a piece lies: named by its content, so that two editions share what they share."""
    return f"pieces/{name[:20]}.bin"
