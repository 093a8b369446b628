"""The data dictionary: what each column means, what each outcome is made of; read from TOML, checked, exported."""

from riskmodel.dictionary.document import from_document, restricted, to_document
from riskmodel.dictionary.model import Dictionary, Kind, Moment, Role, Variable
from riskmodel.dictionary.reader import read

__all__ = ["Dictionary", "Kind", "Moment", "Role", "Variable", "from_document", "read", "restricted", "to_document"]
