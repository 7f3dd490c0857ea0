"""The small store."""

import pytest

from tests.cast import Cast
from tests.storage.world import Store, make_store


@pytest.fixture
def store(cast: Cast) -> Store:
    return make_store(cast)
