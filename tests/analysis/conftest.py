"""Lets these tests import the small jobs that lie beside them; the causes only where asked for.

Weighing the causes takes seconds a job; tests of readings, files and clocks leave it out.
"""

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from gaugewright.analysis import analyse

sys.path.insert(0, str(Path(__file__).parent))

WITH_CAUSES = frozenset({"test_causes", "test_examples", "test_warnings_page"})
"""Modules whose tests look at causes, or at everything."""


@pytest.fixture(autouse=True, scope="module")
def causes_where_asked_for(request: pytest.FixtureRequest) -> Iterator[None]:
    """No causes outside of `WITH_CAUSES`."""
    with pytest.MonkeyPatch.context() as patch:
        if request.module.__name__.rpartition(".")[2] not in WITH_CAUSES:
            patch.setattr(analyse, "with_causes", lambda findings, *_: findings)
        yield
