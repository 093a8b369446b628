"""An empty workbook for a department that starts anew: drop-downs for every word, and a sheet that says how to fill."""

from training.registry.template.book import template

__all__ = ["template"]
