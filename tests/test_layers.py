"""The shape of the code: who may import whom."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
MODULES = sorted((ROOT / "kb").rglob("*.py"))

# A library that only one module (or package) knows can be exchanged in one place.
OWNERS = {
    "sqlite_utils": {"kb.store"},
    "whoosh": {"kb.fulltext"},
    "jinja2": {"kb.render"},
    "markdown_it": {"kb.markup"},
    "click": {"kb.cli"},
    "yaml": {"kb.yamltext"},
    "pint": {"kb.conversion"},
    "Stemmer": {"kb.wording"},
    "watchfiles": {"kb.preview"},
    "brotli": {"kb.squeezing"},
}
# The pure core: no input or output, nothing of the outer ring.
CORE = {
    "applies", "areas", "catalogue", "checks", "dates", "errors", "folding", "judge", "kleene",
    "modelsets", "partlist", "pickled", "places", "prefixes", "prefixrows", "quantities",
    "ranges", "reach", "records", "rounding", "schemes", "scope", "serials", "settle", "spans",
    "spelling", "standing", "stretches", "substitution", "unitnames", "units", "waysbymodel",
    "wire",
}  # fmt: skip
CORE_MAY = CORE | {"conversion", "faults", "fields", "yamltext"}
OUTER = {"sqlite3", "subprocess", "socket", "http", "urllib", "shutil", "tempfile", "os"}


def name_of(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


NAMES = {name_of(path) for path in MODULES}


def imports(path: Path, everywhere: bool = True) -> set[str]:
    """Every module that a file imports; at its top level alone if not *everywhere*."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    nodes = ast.walk(tree) if everywhere else iter(tree.body)
    found: set[str] = set()
    for node in nodes:
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            whole = {f"{node.module}.{alias.name}" for alias in node.names}
            # "from package import module" needs the module, not what the package itself defines.
            found |= whole | (set() if whole <= NAMES else {node.module})
    return found


@pytest.mark.parametrize("library", OWNERS)
def test_one_module_alone_imports_each_outside_library(library: str) -> None:
    users = {
        name_of(path)
        for path in MODULES
        if any(name == library or name.startswith(f"{library}.") for name in imports(path))
    }
    assert users
    assert all(
        any(user == owner or user.startswith(f"{owner}.") for owner in OWNERS[library])
        for user in users
    ), users


@pytest.mark.parametrize("module", sorted(CORE - {"schemes"}))
def test_the_core_imports_nothing_of_the_outer_ring(module: str) -> None:
    found = imports(ROOT / "kb" / f"{module}.py", everywhere=False)
    outer = {name for name in found if name.partition(".")[0] in OUTER | set(OWNERS)}
    ours = {name.split(".")[1] for name in found if name.startswith("kb.")}
    assert not outer
    assert ours <= CORE_MAY, ours - CORE_MAY


@pytest.mark.parametrize("path", sorted((ROOT / "kb" / "phone").glob("*.py")), ids=name_of)
def test_what_is_written_for_the_phone_knows_nothing_of_the_desks_own_store(path: Path) -> None:
    """Desk and phone each get the house, never each other's files: the tests compare the two."""
    theirs = {"fulltext", "store", "lookup", "desk", "derived", "finding", "matching", "ranking"}
    assert not {f"kb.{name}" for name in theirs} & imports(path)


def test_nothing_but_the_command_line_prints_or_exits() -> None:
    talkers = {
        name_of(path)
        for path in MODULES
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and ast.unparse(node.func) in ("print", "sys.exit", "exit")
    }
    assert all(name == "kb.cli" or name.startswith("kb.cli.") for name in talkers), talkers


def test_no_two_modules_import_each_other_at_the_top() -> None:
    names = {name_of(path): path for path in MODULES}
    graph = {
        name: {n for n in imports(path, everywhere=False) if n in names and n != name}
        for name, path in names.items()
    }
    done: set[str] = set()
    while ready := {name for name in graph.keys() - done if graph[name] <= done}:
        done |= ready
    assert not graph.keys() - done, "these wait for one another"


def test_modules_and_functions_stay_short() -> None:
    for path in MODULES:
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.FunctionDef):
                assert (node.end_lineno or 0) - node.lineno < 60, f"{path.name}: {node.name}"
        assert len(path.read_text(encoding="utf-8").splitlines()) < 400, path.name
