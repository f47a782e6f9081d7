"""The site of one commit, made in this process: read, judged by the proof that is kept, written.

What git tells a hook through the environment is out of sight meanwhile.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from kb.errors import KbError
from kb.hooks.proofs import Noted, prove_read

if TYPE_CHECKING:
    from kb.proof.again import Proofed
    from kb.publish import Published
    from kb.records import House


class UnfitHouseError(KbError):
    """A house with errors, of which no site is made."""

    def __init__(self, errors: Sequence[Noted]) -> None:
        super().__init__("the house has errors", "mend them; see `kb proof`")
        self.errors = errors


@dataclass(frozen=True, slots=True)
class Order:
    """What is to be published: the house in *folder* into *out*, as on *day*.

    *proof* is where its proof is kept once made; *keep* older editions stay to go back to, with
    *compress* packed copies lie beside the files.
    """

    folder: Path
    out: Path
    day: date
    proof: Path
    keep: int
    compress: bool


def publish(order: Order, waiting: Callable[[], None]) -> Published:
    """Publish what is ordered: KbError, UnfitHouseError where the house has errors.

    *waiting* is called where another publish into that folder has to be waited for.
    """
    from kb.publish import Manner, as_before, asking, publish_from

    def accept(house: House, before: Proofed | None) -> Proofed | None:
        found = prove_read(order.proof, house, order.day)
        errors = [each for each in found if each.problem.level == "error"]
        if errors:
            raise UnfitHouseError(errors)
        return before

    with _out_of_git():
        asked = asking(order.folder, order.day, order.compress)
        manner = Manner(keep=order.keep, compress=order.compress, asked=asked, waiting=waiting)
        return as_before(asked, order.out) or publish_from(
            order.folder, order.day, order.out, accept, manner
        )


@contextmanager
def _out_of_git() -> Iterator[None]:
    """Hide what git tells a hook in the environment, as from a program that is no hook."""
    told = {key: value for key, value in os.environ.items() if key.startswith("GIT_")}
    for key in told:
        del os.environ[key]
    try:
        yield
    finally:
        os.environ.update(told)
