"""What can be wrong with a map."""

from riskmodel.errors import Refused


class MapRefused(Refused):
    """A map cannot be read, is not answered in full, or was made for another file."""
