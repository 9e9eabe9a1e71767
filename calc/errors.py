"""The one error that bad input raises."""


class InputError(ValueError):
    """Input that cannot be used: one plain sentence for each field.

    Attributes
    ----------
    errors : field name → sentence that says what was wrong, what is allowed, and an example
    """

    def __init__(self, errors: dict[str, str]):
        super().__init__("\n".join(errors.values()))
        self.errors = errors
