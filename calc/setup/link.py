"""A set-up as a link: short enough to say in one square code, versioned, and checked against damage.

The text after `#set-up=` is a version digit and base64url of: four bytes of CRC-32 of what follows, then the set-up's
JSON, deflated with a dictionary of the words that set-ups use. The dictionary is part of the version: it is never
changed, only followed by another with the next version.
"""

from __future__ import annotations

import base64
import binascii
import json
import zlib
from functools import cache
from pkgutil import get_data

from calc.setup.file import LARGEST, read_json
from calc.setup.model import MODEL, Model, SetUp, SetUpError, give_out, take_in

VERSION = "1"
LONGEST = 2 * LARGEST
"""Characters of a link that are read; a usual one has 600, and none that the model allows has more."""

DAMAGED = "This link is damaged: a part of it is missing or changed. Ask for it again."
NEWER = "This link was made with a newer edition of the book. Fetch the newer edition, then open it."


@cache
def dictionary() -> bytes:
    """Return the dictionary of version 1."""
    return get_data("calc.setup", "link_dictionary_1.txt")


def to_link(set_up: SetUp) -> str:
    """Return a set-up as the text that a link carries."""
    content = json.dumps(give_out(set_up), ensure_ascii=False, separators=(",", ":")).encode()
    packer = zlib.compressobj(9, zlib.DEFLATED, -15, 9, zlib.Z_DEFAULT_STRATEGY, dictionary())
    packed = packer.compress(content) + packer.flush()
    return VERSION + written(checksum(packed) + packed)


def checksum(packed: bytes) -> bytes:
    """Return the four bytes that tell damage."""
    return zlib.crc32(packed).to_bytes(4, "big")


def written(blob: bytes) -> str:
    """Return bytes as base64url."""
    return base64.urlsafe_b64encode(blob).decode().rstrip("=")


def from_link(text: str, model: Model = MODEL) -> SetUp:
    """Return the set-up that a link carries.

    Raises
    ------
    SetUpError
        with a sentence, where the link is damaged, too long, newer, or holds what is not declared.
    """
    if not text.isascii() or len(text) > LONGEST:
        raise SetUpError(DAMAGED)
    if text[:1].isdigit() and text[:1] > VERSION:
        raise SetUpError(NEWER)
    if text[:1] != VERSION:
        raise SetUpError(DAMAGED)
    try:
        blob = base64.urlsafe_b64decode(text[1:] + "=" * (-len(text[1:]) % 4))
        if checksum(blob[4:]) != blob[:4] or written(blob) != text[1:]:
            raise SetUpError(DAMAGED)
        unpacker = zlib.decompressobj(-15, dictionary())
        content = unpacker.decompress(blob[4:], LARGEST)
        if unpacker.unused_data or not unpacker.eof:
            raise SetUpError(DAMAGED)
        return take_in(read_json(content.decode(), DAMAGED), model)
    except (UnicodeDecodeError, binascii.Error, zlib.error):
        raise SetUpError(DAMAGED) from None
