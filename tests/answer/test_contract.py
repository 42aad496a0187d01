"""Every layout that a table may have gives an answer that keeps the contract."""

from __future__ import annotations

import pytest

from tests.answer.judging import answered
from tests.answer.scenarios import scenarios


@pytest.mark.parametrize("name", [name for name, _ in scenarios()])
def test_the_contract_is_kept(name: str) -> None:
    document = answered(name)
    assert len(document["provenance"]["data_sha256"]) == 64
