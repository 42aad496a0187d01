"""Every layout that a table may have gives an answer that keeps the contract."""

from __future__ import annotations

import pytest

from tests.answer.judging import judged
from tests.answer.scenarios import scenarios

SCENARIOS = dict(scenarios())


@pytest.mark.parametrize("name", SCENARIOS)
def test_the_contract_is_kept(name: str) -> None:
    table, options = SCENARIOS[name]
    document = judged(table, **options)
    assert document["provenance"]["data_sha256"]
