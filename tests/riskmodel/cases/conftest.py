"""The small dictionary, read once."""

import pytest

from riskmodel.dictionary.model import Dictionary
from tests.riskmodel.cases.builders import small


@pytest.fixture(scope="session")
def held(tmp_path_factory: pytest.TempPathFactory) -> Dictionary:
    return small(tmp_path_factory.mktemp("dictionary"))
