"""From a department's own spreadsheet to a checked, de-identified cohort: template, map, tidy."""
