"""The arrows between the parts, read from the source: who may import whom, and where."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
OWN = ("deploy", "scheduling", "trays", "implants", "tests", "fixtures")

ENGINE = "scheduling.coverage"
NAMES_OF_ATTRIBUTES = "deploy.kit.attributes"
SOLVER = {"scheduling.coverage.tray_model": "scipy"}
"""The one place of the engine that calls upon a solver, and the solver."""

# What each part may import of our own code, the most particular part first.
ALLOWED: tuple[tuple[str, tuple[str, ...]], ...] = (
    (ENGINE, (ENGINE, NAMES_OF_ATTRIBUTES)),
    ("deploy.kit", ("deploy.kit",)),
    ("deploy.scripts", ("deploy.scripts",)),
    ("trays", ("trays", "deploy.kit")),
    ("implants", ("implants", "deploy.kit")),
    ("scheduling", ("scheduling", "trays", "implants", "deploy.kit")),
    ("deploy", ("deploy", "scheduling", "trays", "implants")),
    ("fixtures", ("fixtures", "scheduling", "trays", "implants", "deploy.kit")),
    ("tests", OWN),
    ("manage", ()),
)

INSTEAD = {
    ENGINE: "the engine is plain Python: pass values in; facts.py reads the database",
    "deploy.kit": "the kit carries the apps, so it knows none of them: pass what it needs in",
    "deploy.scripts": "scripts run before anything is installed: call `manage.py` instead",
    "trays": "trays know nothing above or beside them: move the code that joins into scheduling",
    "implants": "implants know nothing above or beside them: move what joins into scheduling",
    "scheduling": "of deploy, apps may use deploy.kit alone: move what is shared into it",
}


@dataclass(frozen=True, slots=True)
class Import:
    """One import: of `name`, by `module`, at `path`:`line`; `inner` where not at the top level."""

    path: str
    line: int
    module: str
    name: str
    inner: bool

    def __str__(self) -> str:
        return f"{self.path}:{self.line}: {self.module} imports {self.name}"


def under(name: str, part: str) -> bool:
    return name == part or name.startswith(f"{part}.")


def part_of(module: str) -> tuple[str, tuple[str, ...]]:
    return next((part, may) for part, may in ALLOWED if under(module, part))


def imports_of(source: str, path: str) -> Iterator[Import]:
    """Every import of a module, with what it names: `from a import b` is `a.b`."""
    parts = list(Path(path).with_suffix("").parts)
    package = parts[:-1]
    module = ".".join(package if parts[-1] == "__init__" else parts)
    tree = ast.parse(source, path)
    top = {id(statement) for statement in tree.body}
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            above = package[: len(package) - node.level + 1] if node.level else []
            base = ".".join([*above, *([node.module] if node.module else [])])
            names = [f"{base}.{alias.name}" for alias in node.names]
        else:
            continue
        for name in names:
            yield Import(path, node.lineno, module, name, id(node) not in top)


def faults_in(source: str, path: str) -> Iterator[str]:
    """What is wrong with a module's imports: the place, and what to do instead."""
    for found in imports_of(source, path):
        part, may = part_of(found.module)
        own = any(under(found.name, root) for root in OWN)
        if own and not any(under(found.name, allowed) for allowed in may):
            yield f"{found}: {INSTEAD.get(part, f'{part} may not')}"
        elif part == ENGINE and not own and not (standard(found.name) or is_solver(found)):
            yield f"{found}: {INSTEAD[ENGINE]}, and of the standard library alone"
        elif part == "deploy.scripts" and not own and not standard(found.name):
            yield f"{found}: {INSTEAD['deploy.scripts']}"
        if own and found.inner:
            yield f"{found} not at the top: split the two modules, so that neither needs it late"


def is_solver(found: Import) -> bool:
    return found.module in SOLVER and under(found.name, SOLVER[found.module])


def standard(name: str) -> bool:
    return name.split(".")[0] in sys.stdlib_module_names


def sources() -> list[Path]:
    return sorted(
        path
        for part in (*OWN, "manage.py")
        for path in ((ROOT / part).rglob("*.py") if (ROOT / part).is_dir() else [ROOT / part])
    )


def test_every_import_follows_the_arrows() -> None:
    faults = [
        fault
        for path in sources()
        for fault in faults_in(path.read_text(), str(path.relative_to(ROOT)))
    ]
    assert not faults, "\n" + "\n".join(faults)


@pytest.mark.parametrize(
    ("path", "source"),
    [
        ("trays/queries.py", "from scheduling.models import Case"),
        ("trays/queries.py", "import implants"),
        ("implants/queries.py", "from trays.models import Tray"),
        ("implants/queries.py", "from deploy.roles import ROLES"),
        ("scheduling/facts.py", "from deploy import settings"),
        ("scheduling/coverage/clock.py", "from django.utils import timezone"),
        ("scheduling/coverage/clock.py", "from scheduling.models import Case"),
        ("scheduling/coverage/clock.py", "from .. import models"),
        ("scheduling/coverage/clock.py", "from deploy.kit.models import Site"),
        ("deploy/kit/doors.py", "from trays.models import Tray"),
        ("deploy/kit/doors.py", "from deploy.roles import ROLES"),
        ("deploy/scripts/demo.py", "import django"),
        ("scheduling/facts.py", "def late():\n    from trays.models import Tray"),
        ("scheduling/facts.py", "if True:\n    import trays.models"),
        ("manage.py", "from deploy.kit.models import Site"),
    ],
)
def test_an_import_against_the_arrows_is_found(path: str, source: str) -> None:
    (fault,) = faults_in(source, path)
    assert fault.startswith(f"{path}:")


@pytest.mark.parametrize(
    ("path", "source"),
    [
        ("trays/queries.py", "from deploy.kit.models import Site"),
        ("scheduling/facts.py", "from trays.models import Tray\nimport implants.models"),
        ("scheduling/coverage/clock.py", "from zoneinfo import ZoneInfo"),
        ("scheduling/coverage/clock.py", "from scheduling.coverage.values import Site"),
        ("scheduling/coverage/clock.py", "from . import values"),
        ("scheduling/coverage/clock.py", "from deploy.kit.attributes import Value"),
        ("deploy/urls.py", "from scheduling.web import urls"),
    ],
)
def test_an_import_along_the_arrows_passes(path: str, source: str) -> None:
    assert list(faults_in(source, path)) == []


WITHOUT_DJANGO = """
import importlib, pkgutil, sys

class Refuses:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in ("django", "rest_framework"):
            raise ImportError(f"the engine reached for {name}")

sys.meta_path.insert(0, Refuses())
engine = importlib.import_module("scheduling.coverage")
names = [found.name for found in pkgutil.walk_packages(engine.__path__, "scheduling.coverage.")]
for name in names:
    importlib.import_module(name)
print("scheduling.coverage.engine" in names)
"""


def test_the_engine_imports_without_django() -> None:
    done = subprocess.run(
        [sys.executable, "-c", WITHOUT_DJANGO],
        cwd=ROOT,
        check=False,
        capture_output=True,
        text=True,
    )
    assert (done.returncode, done.stdout.strip()) == (0, "True"), done.stderr
