"""Reading one cell as its column's rule says; whatever the rule does not cover is refused, never guessed."""
