"""Formulae, one module per subject: plain floats in, plain floats out, in the units of `calc.glossary`.

Each function gives its source, the units of every argument in square brackets, its range of validity and a worked
example. Physics never words an answer and never reads an input field.
"""
