"""Derived anatomy: pure functions of measurements. Units stand in the names, sources in the docstrings.

None stands for what is not known, and stays None: what was not looked at is never read as normal. What theatre and the
scan afterwards tell (`joints.seat`, `breach`), two readers (`amounts.reader_sd`) and the raw lengths behind a ratio
(`ratios`) are no part of a plan: these functions are for whoever holds such measurements in Python.
"""
