"""How far a long computation is: told by what computes, heard by who waits. Costs nothing where nobody listens."""

from __future__ import annotations

from collections.abc import Callable

Listener = Callable[[float, str], object]

_listener: Listener | None = None


def listen(listener: Listener | None) -> None:
    """Let one listener hear how far a computation is, in place of the one before; None ends it.

    Parameters
    ----------
    listener : called with the share done, from 0 to 1, and what is being done in a reader's words [-]
    """
    global _listener
    _listener = listener


def tell(share: float, words: str) -> None:
    """Say how far a computation is. Where an answer takes long, this is called a few dozen times, not thousands.

    Parameters
    ----------
    share : what is done of the whole, from 0 to 1 [-]
    words : what is being done, as a reader would say it [-]

    Examples
    --------
    >>> heard = []
    >>> listen(lambda share, words: heard.append((share, words)))
    >>> tell(0.5, "Day 2 of 4")
    >>> listen(None)
    >>> tell(0.75, "Day 3 of 4")
    >>> heard
    [(0.5, 'Day 2 of 4')]
    """
    if _listener is not None:
        _listener(share, words)
