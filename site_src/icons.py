"""The book's icon, drawn here: a battery with two cells, or with a club's letters. SVG for browsers, PNG for phones."""

from __future__ import annotations

import struct
import zlib

from site_src.settings import NIGHT, PAPER

EMBER = "#ffc98a"
SQUARE = 64
FONT = (
    "A25755B65656C34443D65556E74647F74644G34553H55755I72227J11152K55655L44447M57755N65555O25552P65644"
    "Q25573R65655S34216T72222U55557V55552W55775X55255Y55222Z71247075557126227261247361216455711574616"
    "634757771122875757975716"
)
ROWS = {FONT[n]: FONT[n + 1 : n + 6] for n in range(0, len(FONT), 6)}
"""Letters of three by five squares: a digit for each row from the top, its three bits the squares from the left."""

LETTERS = tuple(ROWS)
LETTER = 4
"""Side of a letter's square."""

Rectangle = tuple[int, int, int, int, str]


def rectangles(paper: str = PAPER, night: str = NIGHT, ember: str = EMBER, letters: str = "") -> tuple[Rectangle, ...]:
    """Return the whole drawing as (x, y, width, height, colour) in a square of 64, in the order of painting.

    All of it but the ground keeps inside the middle 80 %, so that a mask cuts nothing off.
    """
    poles = (
        (31, 22, 2, 26, night),
        (18, 33, 9, 3, night),
        (21, 30, 3, 9, night),
        (37, 33, 9, 3, night),
    )
    return (
        (0, 0, 64, 64, night),
        (14, 22, 36, 26, paper),
        (18, 17, 8, 5, paper),
        (38, 17, 8, 5, paper),
        *(tuple(lettering(letters, night)) if letters else poles),
        (14, 44, 36, 4, ember),
    )


def lettering(letters: str, colour: str) -> list[Rectangle]:
    """Return one or two letters, in the middle of the battery."""
    left = SQUARE // 2 - (4 * len(letters) - 1) * LETTER // 2
    return [
        (left + (4 * n + column) * LETTER, 23 + row * LETTER, LETTER, LETTER, colour)
        for n, letter in enumerate(letters)
        for row, bits in enumerate(ROWS[letter])
        for column in range(3)
        if int(bits) & 4 >> column
    ]


RECTANGLES = rectangles()
"""The plain book's."""


def svg(drawn: tuple[Rectangle, ...] = RECTANGLES) -> bytes:
    """Return the icon as SVG."""
    shapes = "".join(
        f'<rect x="{x}" y="{y}" width="{w}" height="{h}" fill="{colour}"/>' for x, y, w, h, colour in drawn
    )
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {SQUARE} {SQUARE}">{shapes}</svg>'.encode()


def png(size: int, drawn: tuple[Rectangle, ...] = RECTANGLES) -> bytes:
    """Return the icon as a PNG of size × size pixels, a multiple of 64."""
    scale = size // SQUARE
    pixels = [[drawn[0][4]] * SQUARE for _ in range(SQUARE)]
    for x, y, w, h, colour in drawn:
        for row in range(y, y + h):
            pixels[row][x : x + w] = [colour] * w
    lines = (b"\0" + b"".join(bytes.fromhex(c[1:]) * scale for c in row) for row in pixels)
    raw = b"".join(line * scale for line in lines)
    header = struct.pack(">IIBBBBB", size, size, 8, 2, 0, 0, 0)
    chunks = ((b"IHDR", header), (b"IDAT", zlib.compress(raw, 9)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data)) for name, data in chunks
    )
