"""Drafting a map: guesses, every one of them marked, for a person to check."""
