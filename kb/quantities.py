"""Quantities in braces."""

from __future__ import annotations

from typing import Literal

from kb.errors import KbError


class QuantityError(KbError):
    """Braces that look like a quantity and cannot be read."""


def show(text: str, first: Literal["metric", "us"] = "metric") -> str:
    """Return the quantity *text* in both unit systems."""
    return text
