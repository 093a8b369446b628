"""The one way in which a cell is not read."""


class Doubt(ValueError):
    """A cell that the map does not cover. `accepted` says what would be read, or which line of the map is missing."""

    def __init__(self, accepted: str, rule: str) -> None:
        self.accepted = accepted
        self.rule = rule
        super().__init__(accepted)
