"""Derived anatomy: pure functions of measurements. Units stand in the names, sources in the docstrings.

None stands for what is not known, and stays None: what was not looked at is never read as normal.
"""
