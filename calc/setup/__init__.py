"""The set-up: one description of a vehicle that every check starts from.

`parts` declares what is asked, `model` holds what was typed and what is known, `file` and `link` carry it,
`consistency` says what cannot be together, `starts` leads from it into the checks.
"""
