"""Models as the rows of parts.csv limit them: by patterns, any one of which is enough."""

from __future__ import annotations

from collections.abc import Iterable

from kb.applies import model_matches

Patterns = tuple[str, ...]


def fits(patterns: Iterable[str], model: str) -> bool:
    """Tell whether *model* fits one of *patterns*."""
    return any(model_matches(pattern, model) for pattern in patterns)
