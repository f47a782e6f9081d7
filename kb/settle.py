"""Why an answer is yes, no or maybe, and what would settle a maybe, in a technician's words."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from kb.dates import Days, show_days
from kb.judge import CONDITIONS, Case, family_named, judge_block, judge_blocks
from kb.records import Block, Count, Verdict

NO_SERIAL = "the serial"
DIGIT = "the digit behind the model number"
DAY = "the exact day of production"
PLANT = "the plant of production"
MEANING = "the years meant by the serials in the bulletin"


@dataclass(frozen=True, slots=True)
class Ask:
    """A fact that is missing (*fact*) and what it would have to be (*wanted*)."""

    fact: str
    wanted: str


def show_count(count: Count) -> str:
    """Return a range of revisions in words: `3 or higher`, `up to 2`, `2 to 4`, `2`."""
    if count.low is not None and count.high is not None:
        return f"{count.low}" if count.low == count.high else f"{count.low} to {count.high}"
    if count.low is not None:
        return f"{count.low} or higher"
    return f"up to {count.high}" if count.high is not None else "any"


def listed(words: Sequence[str], joint: str = "or") -> str:
    """Return `a`, `a or b`, `a, b or c`."""
    return f" {joint} ".join(part for part in (", ".join(words[:-1]), *words[-1:]) if part)


def show_serials(block: Block) -> str:
    """Return the serial ranges of a block in words."""
    return listed(
        [s.first if s.first == s.last else f"{s.first} to {s.last}" for s in block.serials]
    )


def _shown(days: Days, case: Case) -> str:
    """Return *days* in words, by week rather than month where the serials tell the week."""
    scheme = case.reading.scheme if case.reading else ""
    return show_days(days, weeks=case.ranges.by_week(scheme))


def _inside(words: str) -> str:
    return f"inside the range {words}" if words.startswith("up to") else f"inside {words}"


def _among(block: Block) -> str:
    """Return `among` and the serial ranges of a block; a lone serial by itself."""
    wanted = show_serials(block)
    alone = len({end for each in block.serials for end in (each.first, each.last)}) == 1
    return wanted if alone else f"among {wanted}"


def _built(case: Case) -> str:
    if case.reading is None:
        return f"every {case.model} was built {_shown(case.built, case)}"
    return f"built {_shown(case.built, case)}"


def _why_model(block: Block, case: Case, found: Verdict) -> str:
    if found == "yes":
        if block.models:
            return f"{case.model} is named"
        return f"all of {case.family} is named" if block.families else "it is for every model"
    if not family_named(block, case.family):
        return f"it is for {listed(block.families)}, not for {case.family}"
    return f"it is for {listed(block.models)}, not for {case.model}"


def _why_revision(block: Block, case: Case, found: Verdict) -> str:
    wanted = show_count(block.revision or Count())
    if found == "maybe":
        return f"the revision is not known, and only {wanted} counts"
    if case.revision is None or wanted == "any":
        return "any revision will do"
    if wanted == f"{case.revision}":
        return f"revision {wanted}"
    return f"revision {case.revision}, {_inside(wanted) if found == 'yes' else f'not {wanted}'}"


def _side(wanted: Days, case: Case) -> str:
    """Say on which side of *wanted* the days of *case* lie, none of which is inside."""
    if wanted.first and case.built.last and case.built.last < wanted.first:
        return f"before {_shown(Days(wanted.first, None), case).removesuffix(' or later')}"
    return f"after {_shown(Days(None, wanted.last), case).removeprefix('up to ')}"


def _why_built(block: Block, case: Case, found: Verdict) -> str:
    wanted = block.built or Days()
    if found == "yes" and wanted == case.built:
        return _built(case)
    if found == "yes":
        return f"{_built(case)}, {_inside(_shown(wanted, case))}"
    if found == "no":
        return f"{_built(case)}, {_side(wanted, case)}"
    if case.reading is None:
        return f"the build date is not known, and only {_shown(wanted, case)} counts"
    return f"{_built(case)}, only partly {_inside(_shown(wanted, case))}"


def _why_plant(block: Block, case: Case, found: Verdict) -> str:
    wanted = listed(block.plants)
    if found == "maybe" or case.plants is None:
        return f"the plant is not known, and only {wanted} counts"
    have = listed(sorted(case.plants))
    return f"plant {have}" if found == "yes" else f"plant {have}, not {wanted}"


def _why_serials(block: Block, case: Case, found: Verdict) -> str:
    wanted = _among(block)
    if case.reading is None:
        told = "could be" if found == "maybe" else "cannot be"
        return f"the serial is not known and {told} {wanted}"
    if found == "maybe":
        return f"the serial may be {wanted}, which can mean several years"
    return f"the serial is {'' if found == 'yes' else 'not '}{wanted}"


WHY: dict[str, Callable[[Block, Case, Verdict], str]] = {
    "model": _why_model,
    "revision": _why_revision,
    "built": _why_built,
    "plant": _why_plant,
    "serials": _why_serials,
}


def findings(block: Block, case: Case) -> dict[str, Verdict]:
    """Return the verdict of each condition that the block gives, model always among them."""
    given = {
        "model": True,
        "revision": block.revision is not None,
        "built": block.built is not None,
        "plant": bool(block.plants),
        "serials": bool(block.serials),
    }
    return {name: judge(block, case) for name, judge in CONDITIONS.items() if given[name]}


def _ask(name: str, block: Block, case: Case) -> Ask:
    """Return what would settle a condition that is maybe."""
    unknown = case.reading is None
    if name == "revision":
        return Ask(DIGIT, show_count(block.revision or Count()))
    if name == "built":
        wanted = _shown(block.built or Days(), case)
        return Ask(NO_SERIAL if unknown else DAY, f"built {wanted}")
    if name == "plant":
        plain = unknown and case.plants is not None
        return Ask(NO_SERIAL if plain else PLANT, f"plant {listed(block.plants)}")
    return Ask(NO_SERIAL if unknown else MEANING, show_serials(block))


def _own_asks(block: Block, case: Case) -> list[Ask]:
    found = findings(block, case)
    return [_ask(name, block, case) for name, verdict in found.items() if verdict == "maybe"]


def _negated(asks: Sequence[Ask]) -> Ask:
    """Return what settles an exception that is maybe: it takes all of *asks* to be excepted."""
    facts = list(dict.fromkeys(ask.fact for ask in asks))
    wanted = " together with ".join(ask.wanted for ask in asks)
    inner = wanted.removeprefix("not ") if len(asks) == 1 else wanted
    return Ask(" and ".join(facts), inner if inner != wanted else f"not {wanted}")


def asks(block: Block, case: Case) -> Iterator[Ask]:
    """Yield what would settle a block that is maybe: its own conditions, then its exceptions."""
    yield from _own_asks(block, case)
    for other in block.but_not:
        if judge_block(other, case) == "maybe":
            yield _negated(list(asks(other, case)))


def settle_block(block: Block, case: Case) -> str:
    """Return what would turn a maybe of *block* into yes or no."""
    wanted: dict[str, list[str]] = {}
    for ask in asks(block, case):
        known = wanted.setdefault(ask.fact, [])
        if ask.wanted not in known:
            known.append(ask.wanted)
    parts = [f"{fact}: {', '.join(words)}" for fact, words in wanted.items()]
    return "; and ".join(parts)


def settle_case(where: Sequence[Block], case: Case) -> str:
    """Return what would settle the alternatives *where*, one of which is maybe and none yes."""
    told = [settle_block(block, case) for block in where if judge_block(block, case) == "maybe"]
    return "; or ".join(dict.fromkeys(told))


def _why_no(block: Block, case: Case) -> tuple[int, str]:
    """Return how near a block came to holding, and the condition that fails."""
    found = findings(block, case)
    for rank, (name, verdict) in enumerate(found.items()):
        if verdict == "no":
            return rank, WHY[name](block, case, verdict)
    excepted = next(b for b in block.but_not if judge_block(b, case) == "yes")
    return len(found), f"excepted: {_reasons(excepted, case, 'yes')}"


def _reasons(block: Block, case: Case, wanted: Verdict) -> str:
    found = findings(block, case)
    if not (block.families or block.models) and len(found) > 1:
        found.pop("model")
    order = sorted(found, key=list(_SAID).index)
    told = [WHY[name](block, case, found[name]) for name in order if found[name] == wanted]
    return "; ".join(told)


_SAID = ("built", "plant", "serials", "revision", "model")


def _why_maybe(block: Block, case: Case, to: str = "") -> str:
    told = [_reasons(block, case, "maybe")] + [
        f"an exception{to} may hold: {_why_maybe(other, case, ' to that')}"
        for other in block.but_not
        if judge_block(other, case) == "maybe"
    ]
    return "; ".join(part for part in told if part)


def why_case(where: Sequence[Block], case: Case, found: Verdict) -> str:
    """Return why *where* is *found* for this case: the block that decides, in words."""
    if found == "no":
        told = [_why_no(block, case) for block in where]
        return max(told, key=lambda pair: pair[0])[1] if told else "it names no unit"
    block = next(block for block in where if judge_block(block, case) == found)
    return _reasons(block, case, "yes") if found == "yes" else _why_maybe(block, case)


__all__ = ["judge_blocks", "settle_case", "show_count", "show_serials", "why_case"]
