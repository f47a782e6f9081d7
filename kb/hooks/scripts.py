"""The hooks as git runs them: short shell scripts that call the former hook, then kb.

They use nothing but the shell itself, so they work whatever the path is set to.
"""

from __future__ import annotations

import shlex
import sys
from pathlib import Path

import kb

MARK = "# Written by `kb hooks`; `kb hooks --remove` takes it away. Changes made here are lost."

# Hooks that git gives its news on standard input.
_TOLD_BY_INPUT = {"pre-receive", "post-receive", "post-rewrite"}

_HEAD = f"#!/bin/sh\n{MARK}\n"
_FORMER = "former={former}\n"

_FORWARD = """\
if [ -f "$former" ] && [ -x "$former" ]; then
    exec "$former" "$@"
fi
exit 0
"""

_OURS = """\
python={python}
program={program}

ours() {{
    if [ ! -x "$python" ] || [ ! -f "$program" ]; then
        printf '%s\\n' "kb: the program that checks bulletins is no longer at" \\
            "    $python" \\
            "    Run \\`kb hooks\\` again in this repository, or \\`kb hooks --remove\\`." \\
            "    {otherwise}" >&2
        exit 1
    fi
    exec "$python" {flags} -m kb hooks --run {name}
}}

"""

_CHAIN = """\
if [ -f "$former" ] && [ -x "$former" ]; then
    "$former" "$@"{failed}
fi
ours
"""

_CHAIN_BY_INPUT = """\
if [ -f "$former" ] && [ -x "$former" ]; then
    told=
    while IFS= read -r line; do
        told="$told$line
"
    done
    printf '%s' "$told" | "$former" "$@"{failed}
    printf '%s' "$told" | ours
    exit
fi
ours
"""

_WITHOUT = {
    "pre-commit": "To commit all the same: git commit --no-verify",
    "pre-merge-commit": "To commit all the same: git merge --no-verify",
    "pre-receive": "If this is a server, tell whoever looks after it.",
}
_ELSE = "Nothing was published."


def ours(name: str, former: str, flags: tuple[str, ...]) -> str:
    """Return the hook *name*: the one in the folder *former* if there is one, then ours.

    A former hook that refuses has the last word; after the fact, ours runs whatever it said.
    """
    body = _OURS.format(
        python=shlex.quote(Path(sys.executable).as_posix()),
        program=shlex.quote(Path(kb.__file__).as_posix()),
        otherwise=_WITHOUT.get(name, _ELSE),
        flags=shlex.join(flags),
        name=name,
    )
    if not former:
        return f"{_HEAD}{body}ours\n"
    chain = _CHAIN_BY_INPUT if name in _TOLD_BY_INPUT else _CHAIN
    failed = " || exit" if name.startswith("pre-") else ""
    return _HEAD + _named(name, former) + body + chain.format(failed=failed)


def forward(name: str, former: str) -> str:
    """Return a hook that does nothing but run the one called *name* in the folder *former*."""
    return _HEAD + _named(name, former) + _FORWARD


def _named(name: str, former: str) -> str:
    return _FORMER.format(former=shlex.quote(f"{former}/{name}"))
