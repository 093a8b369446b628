"""Invented cohorts with known truth. No real child is in any table that this package writes."""
