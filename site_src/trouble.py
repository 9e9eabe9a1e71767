"""The one kind of error that a person reads."""


class Trouble(Exception):
    """Says in plain sentences what happened and what to do; build.py prints it and ends with exit code 1."""
