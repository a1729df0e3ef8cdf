"""What no line of the program may do, whichever module it stands in."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
KEPT = ("voicelog", "tests", "demo_data", "models/recipe", ".ci")
MODULES = sorted((ROOT / "voicelog").rglob("*.py"))
RUN_AS_TEXT = frozenset({"eval", "exec", "compile", "system", "popen", "mktemp", "getoutput"})
READ_AS_CODE = frozenset({"pickle", "marshal", "shelve", "dill", "yaml"})
SECRETS = re.compile(
    r"-----BEGIN [A-Z ]*PRIVATE KEY-----|\bAKIA[0-9A-Z]{16}\b|\bgh[pousr]_[A-Za-z0-9]{36}\b"
    r"|\bxox[baprs]-[A-Za-z0-9-]{10,}|(?i:\b(?:api_?key|passw(?:or)?d|secret)\b\s*[:=]\s*[\"'][^\"']{8,})"
)


def find_faults(module: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        match node:
            case ast.Call(func=ast.Name(id=name)) if name in RUN_AS_TEXT:
                yield f"{name}() in line {node.lineno}"
            case ast.Call(
                func=ast.Attribute(value=ast.Name(id="os" | "subprocess"), attr=name)
            ) if name in RUN_AS_TEXT:
                yield f"{name}() in line {node.lineno}"
            case ast.Import(names=names):
                yield from (one.name for one in names if one.name in READ_AS_CODE)
            case ast.ImportFrom(module=name) if name in READ_AS_CODE:
                yield str(name)
            case ast.keyword(arg="shell", value=value):
                if not (isinstance(value, ast.Constant) and value.value is False):
                    yield f"shell= in line {value.lineno}"


@pytest.mark.parametrize(
    "source", ["eval('1')", "import pickle", "run('x', shell=True)", "os.system('x')"]
)
def test_what_is_looked_for_is_found(tmp_path: Path, source: str) -> None:
    """Else the test below would prove nothing."""
    (tmp_path / "module.py").write_text(source)
    assert list(find_faults(tmp_path / "module.py"))


def test_no_text_is_ever_run() -> None:
    """No shell, no eval, nothing that runs what it reads, no guessable temporary names."""
    faults = {str(module.relative_to(ROOT)): list(find_faults(module)) for module in MODULES}
    assert {name: found for name, found in faults.items() if found} == {}


def test_no_secret_is_kept() -> None:
    """Neither keys nor passwords, in any file of the repository."""
    assert SECRETS.search('api_key = "0123456789"')
    kept = [path for top in KEPT for path in (ROOT / top).rglob("*")]
    for path in (*kept, *ROOT.glob("*.*")):
        if path.is_file() and path.stat().st_size < 1_000_000 and path != Path(__file__):
            found = SECRETS.search(path.read_text(encoding="utf-8", errors="replace"))
            assert found is None, f"{path}: {found}"
