"""Scripts as they are published: bundled in order, small, and the same in every run."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest

from kb.pages.assets import hashed
from kb.pages.scripts import ENTRIES, bundle, script_assets, scripts
from tests.nodejs import node


def written(folder: Path, files: dict[str, str]) -> Path:
    """Write *files* and return the path of the entry, ``entry.js``."""
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
    return folder / "entry.js"


def run(script: bytes) -> str:
    """Return what a script says in Node."""
    done = subprocess.run([node(), "-"], input=script, capture_output=True, timeout=60)
    assert done.returncode == 0, done.stderr.decode()
    return done.stdout.decode()


def test_a_bundle_does_what_its_modules_do(tmp_path: Path) -> None:
    entry = written(
        tmp_path,
        {
            "entry.js": 'import { double } from "./core/double.js";\n'
            'import { word as said } from "./core/words.js";\nconsole.log(double(21), said);\n',
            "core/double.js": 'import { two } from "./two.js";\n'
            "/** Twice. */\nexport function double(n) {\n  return two * n;\n}\n",
            "core/two.js": "export const two = 2;\n",
            "core/words.js": 'import { two } from "./two.js";\n'
            "const hidden = `a ${two}`;\nexport const word = hidden;\n",
        },
    )
    assert run(bundle(entry)[0]) == "42 a 2\n"


def test_helpers_of_the_same_name_in_two_modules_stay_apart(tmp_path: Path) -> None:
    entry = written(
        tmp_path,
        {
            "entry.js": 'import { one } from "./one.js";\nimport { two } from "./two.js";\n'
            "function help() {\n  return 0;\n}\nconsole.log(help(), one(), two());\n",
            "one.js": "function help() {\n  return 1;\n}\nexport function one() {\n"
            "  return help();\n}\n",
            "two.js": "function help() {\n  return 2;\n}\nexport function two() {\n"
            "  return help();\n}\n",
        },
    )
    assert run(bundle(entry)[0]) == "0 1 2\n"


@pytest.mark.parametrize(
    "exported",
    [
        "export class Thing {\n  go() {\n    return 7;\n  }\n}\nexport const it = new Thing();\n",
        "export async function wait() {\n  return 7;\n}\nexport const it = { go: () => 7 };\n",
        "export function* each() {\n  yield 7;\n}\n"
        "export const it = { go: () => [...each()][0] };\n",
    ],
)
def test_classes_and_functions_of_every_kind_can_be_exported(tmp_path: Path, exported: str) -> None:
    names = [name for name in ("Thing", "wait", "each") if name in exported]
    entry = written(
        tmp_path,
        {
            "entry.js": f'import {{\n  it,\n  {names[0]},\n}} from "./it.js";\n'
            f"console.log(it.go(), typeof {names[0]});\n",
            "it.js": exported,
        },
    )
    assert run(bundle(entry)[0]) == "7 function\n"


def test_a_circle_of_modules_is_told_with_its_steps(tmp_path: Path) -> None:
    entry = written(
        tmp_path,
        {
            "entry.js": 'import { a } from "./a.js";\na();\n',
            "a.js": 'import { b } from "./b.js";\nexport function a() {\n  b();\n}\n',
            "b.js": 'import { a } from "./a.js";\nexport function b() {\n  a();\n}\n',
        },
    )
    with pytest.raises(ValueError, match=r"a\.js → b\.js → a\.js"):
        bundle(entry)


LATE_MODULES = {
    "entry.js": 'import { one } from "./one.js";\nimport { far as distant } from "./far.js";\n'
    'console.log(one);\nconsole.log(distant("x"), distant("y"));\n',
    "one.js": "export const one = 1;\n",
    "far.js": 'import { one } from "./one.js";\nimport { deep } from "./deep.js";\n'
    "let count = 0;\nexport function far(text) {\n  count += one;\n"
    "  return `${text}${deep()}${count}`;\n}\n",
    "deep.js": 'export function deep() {\n  return "-";\n}\n',
}
WORKER = """
const self = globalThis; const brought = [];
globalThis.self = self;
globalThis.importScripts = (name) => { brought.push(name); (0, eval)(%s); };
process.on("exit", () => console.log(brought.length, brought[0]));
"""


def test_what_comes_late_is_brought_in_once_when_it_is_first_called(tmp_path: Path) -> None:
    first, rest = bundle(written(tmp_path, LATE_MODULES), ["far.js"])
    assert b"deep" not in first
    told = run((WORKER % json.dumps(rest.decode())).encode() + first).splitlines()
    assert told[:2] == ["1", "x-1 y-2"]
    assert told[2] == f"1 {hashed('late.js', rest).rpartition('/')[2]}"


def test_nothing_late_is_brought_in_that_is_not_called(tmp_path: Path) -> None:
    quiet = {**LATE_MODULES, "entry.js": LATE_MODULES["entry.js"].split("console.log(dist")[0]}
    first, rest = bundle(written(tmp_path, quiet), ["far.js"])
    told = run((WORKER % json.dumps(rest.decode())).encode() + first).splitlines()
    assert told == ["1", "0 undefined"]


def test_a_late_module_hands_out_functions_alone(tmp_path: Path) -> None:
    files = {**LATE_MODULES, "far.js": "export const far = (text) => text;\n"}
    with pytest.raises(ValueError, match="far would have to be a function"):
        bundle(written(tmp_path, files), ["far.js"])


def test_comments_and_indents_are_not_published(tmp_path: Path) -> None:
    entry = written(
        tmp_path,
        {
            "entry.js": "/** Says it. */\nfunction say() {\n    // to all\n"
            "    console.log(1);\n}\nsay();\n"
        },
    )
    script = bundle(entry)[0]
    assert b"Says" not in script
    assert b"to all" not in script
    assert b"  " not in script


@pytest.mark.parametrize("name", [*ENTRIES, "late"])
def test_every_published_script_parses_and_is_the_same_in_every_run(
    name: str, tmp_path: Path
) -> None:
    script = scripts()[name]
    path = tmp_path / "script.cjs"
    path.write_bytes(script.content)
    done = subprocess.run([node(), "--check", str(path)], capture_output=True, timeout=60)
    assert done.returncode == 0, done.stderr.decode()
    scripts.cache_clear()
    assert scripts()[name] == script


def test_the_service_worker_lies_at_the_top_of_the_site() -> None:
    paths = [asset.path for asset in script_assets()]
    assert paths.count("sw.js") == 1
    assert all(path.startswith("assets/") for path in paths if path != "sw.js")
