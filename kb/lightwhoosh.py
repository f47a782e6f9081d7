"""Whoosh, brought in without what it needs for nothing here.

Whoosh 2.7.4 imports ``urllib.request`` (and with it http, ssl and email) for a helper that fetches
files; nobody calls it, and it takes a third of the time in which `kb find` answers. While Whoosh is
first imported an empty module stands in for it, and is taken away again at once.
"""

from __future__ import annotations

import importlib
import sys
from types import ModuleType

_UNNEEDED = "urllib.request"


def bring_in() -> None:
    """Import Whoosh's entry module; a real ``urllib.request`` that is there already stays."""
    if "whoosh.compat" in sys.modules or _UNNEEDED in sys.modules:
        return
    empty = ModuleType(_UNNEEDED)
    empty.__dict__["urlretrieve"] = None
    sys.modules[_UNNEEDED] = empty
    try:
        importlib.import_module("whoosh.compat")
    finally:
        del sys.modules[_UNNEEDED]
