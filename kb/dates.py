"""Days, and ranges of days as they are written: 2024, 2024-03, 2024-W10, 2024-03-04, FROM..TO."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta

from kb.errors import DateError

_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, order=True)
class Days:
    """A stretch of days, both ends included; ``None`` leaves an end open."""

    first: date | None = None
    last: date | None = None

    def meet(self, other: Days) -> Days | None:
        """Return the days in both stretches, or None where they share none."""
        first = max((d for d in (self.first, other.first) if d), default=None)
        last = min((d for d in (self.last, other.last) if d), default=None)
        if first and last and first > last:
            return None
        return Days(first, last)

    def __contains__(self, day: date) -> bool:
        return (self.first is None or self.first <= day) and (self.last is None or day <= self.last)

    def covers(self, other: Days) -> bool:
        """Tell whether every day of *other* lies in this stretch."""
        starts = self.first is None or (other.first is not None and self.first <= other.first)
        ends = self.last is None or (other.last is not None and other.last <= self.last)
        return starts and ends
