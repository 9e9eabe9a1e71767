"""How Hypothesis runs here: a slow machine is no fault of the book, so no example has a deadline."""

from hypothesis import settings

settings.register_profile("book", deadline=None)
settings.load_profile("book")
