"""The book's icon, drawn here: a battery's two cells beside an open page. SVG for browsers, PNG for home screens."""

from __future__ import annotations

import struct
import zlib

from site_src.settings import NIGHT, PAPER

EMBER = "#ffc98a"
SQUARE = 64
RECTANGLES = (
    # x, y, width, height, colour; in units of a 64 × 64 square, painted in this order
    (0, 0, 64, 64, NIGHT),
    (14, 22, 36, 26, PAPER),
    (18, 17, 8, 5, PAPER),
    (38, 17, 8, 5, PAPER),
    (31, 22, 2, 26, NIGHT),
    (18, 33, 9, 3, NIGHT),
    (21, 30, 3, 9, NIGHT),
    (37, 33, 9, 3, NIGHT),
    (14, 44, 36, 4, EMBER),
)
"""The whole drawing; all of it but the ground keeps inside the middle 80 %, so that a mask cuts nothing off."""


def svg() -> bytes:
    """Return the icon as SVG."""
    shapes = "".join(
        f'<rect x="{x}" y="{y}" width="{w}" height="{h}" fill="{colour}"/>' for x, y, w, h, colour in RECTANGLES
    )
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {SQUARE} {SQUARE}">{shapes}</svg>'.encode()


def png(size: int) -> bytes:
    """Return the icon as a PNG of size × size pixels, a multiple of 64."""
    scale = size // SQUARE
    pixels = [[NIGHT] * SQUARE for _ in range(SQUARE)]
    for x, y, w, h, colour in RECTANGLES:
        for row in range(y, y + h):
            pixels[row][x : x + w] = [colour] * w
    lines = (b"\0" + b"".join(bytes.fromhex(c[1:]) * scale for c in row) for row in pixels)
    raw = b"".join(line * scale for line in lines)
    header = struct.pack(">IIBBBBB", size, size, 8, 2, 0, 0, 0)
    chunks = ((b"IHDR", header), (b"IDAT", zlib.compress(raw, 9)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data)) for name, data in chunks
    )
