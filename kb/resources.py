"""Where templates and the browser's half lie: beside the package, or inside it once installed."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def folder(name: str) -> Path:
    """Return the folder ``templates`` or ``site``: the checkout's own, else the package's copy."""
    beside = _PACKAGE.parent / name
    inside = _PACKAGE / "_shared" / name
    return inside if inside.is_dir() else beside


def data(name: str) -> Path:
    """Return a file of the package's data."""
    return _PACKAGE / "data" / name
