"""Every small house that the tests of the proof know: sound ones, and ones with mistakes."""

from __future__ import annotations

from collections.abc import Iterator

from tests import test_proof_silent, test_proof_told
from tests.proof_cases import changed, load
from tests.proof_edits import edited
from tests.test_proof_properties import WRONG


def every_house() -> Iterator[dict[str, str]]:
    """Yield the files of each: those of tests/cases/proof.md, and the mistakes of other tests."""
    yield load().house
    yield edited(WRONG)
    yield from map(changed, load().cases)
    yield from (edited(case.edits) for case in test_proof_told.TOLD)
    yield from (edited(edits) for _, _, edits in test_proof_silent.CASES)
