"""Very many numbers at once, folded or by their shapes, faster than one by one."""

from __future__ import annotations

import string
from collections import Counter
from collections.abc import Callable, Sequence

from kb.folding import fold

# A number in the text is only asked after if this many known ones are built like it.
_COMMON = 3
_SHAPE = str.maketrans(dict.fromkeys(string.digits, "9") | dict.fromkeys(string.ascii_letters, "A"))
_BETWEEN = "\n"
_LOOSE = {code: None for code in range(128) if chr(code) != _BETWEEN and not fold(chr(code))}


def shape(number: str) -> str:
    """Return how a number is built: 9 for each digit, A for each letter."""
    return number.translate(_SHAPE)


def shapes(numbers: Sequence[str]) -> frozenset[str]:
    """Return the shapes that several of *numbers* have, those without a digit left out."""
    counts = Counter(_at_once(numbers, shape) or map(shape, numbers))
    return frozenset(each for each, count in counts.items() if count >= _COMMON and "9" in each)


def folded(numbers: Sequence[str]) -> list[str]:
    """Return each of *numbers* folded."""
    if all(map(str.isascii, numbers)):
        at_once = _at_once(numbers, lambda text: text.translate(_LOOSE).upper())
    else:
        at_once = None
    return at_once or list(map(fold, numbers))


def _at_once(numbers: Sequence[str], change: Callable[[str], str]) -> list[str] | None:
    """Return *numbers* changed as one text, None where they would not come apart again."""
    changed = change(_BETWEEN.join(numbers)).split(_BETWEEN)
    return changed if len(changed) == len(numbers) else None
