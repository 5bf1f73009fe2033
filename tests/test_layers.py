"""The shape of the code itself: who may import whom, and what every module must have.

The imports are read from the text with ``ast``, those inside functions and those for
the type checker too, so nothing is loaded and nothing can hide.
"""

from __future__ import annotations

import ast
import functools
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "bedmodel"
LONGEST = 450

# From the ground up. A module imports from its own line or from a line above it; a
# name stands for the module and all inside it, "" for the package's own __init__.
LAYERS = (
    ("", "errors", "program", "units", "angles", "frames", "outline", "profiles", "cuts", "shape"),
    (
        *("tables", "figures", "panels", "profile_bits", "moisture", "climates", "cutters"),
        *("materials", "screws", "bed"),
    ),
    (
        *("fields", "hardware", "edge_spec", "end_spec", "joint_spec", "leg_spec"),
        *("outline_files", "own_woods", "reckoning_spec", "support_spec"),
        *("spec", "refusals", "sheets", "reference"),
    ),
    (
        *("lean", "raked_leg", "pocket", "heights", "legs", "slats", "supports"),
        *("centre_beam", "deck_screws", "spread", "edge_walls", "glue_zone"),
        *("tenons", "integral", "dowels", "fasteners"),
        *("screwing", "cleats", "platform_screws", "ends", "end_plan", "centre_rail_plan"),
        *("skeleton", "joints", "end_joints", "parts", "rail_joints", "screw_joints"),
        *("edge_profiles", "pieces"),
    ),
    ("kernel", "solids"),
    ("assembly", "joinery", "part_cache"),
    ("checks", "strength", "movement", "comfort"),
    ("lumber", "shop_profile", "stock"),
    ("shape_volume", "bed_figures"),
    ("shop",),
    ("exports",),
    ("drawing",),
    ("book",),
    ("sweeping",),
    ("build_groups", "build", "notebook", "host", "live"),
    ("publishing",),
    ("verbs", "cli", "__main__"),
)
# What must be there for someone who has no solid modeller: it may still be asked for,
# inside a function, by those of the upper layers.
NUMBERS_ONLY = {
    *(name for names in LAYERS[:4] for name in names),
    *("kernel", "strength", "movement", "comfort", "stock", "verbs", "cli", "__main__"),
    *("bed_figures", "sweeping"),
}
SOLID_LAYER = 4
MODELLER = {"cadquery", "OCP"}
CLUSTER = {"dask", "distributed", "fsspec"}  # the extra that most have not installed
HEAVY = {*MODELLER, *CLUSTER, "numpy", "ezdxf", "trimesh", "PIL", "highspy", "reportlab"}
READS_DRAWINGS = "legs.drawn"  # the maker's own outline, and only where a sheet names one
READS_SHEETS = {
    "fields",
    "hardware",
    "joint_spec",
    "spec",
    "refusals",
    "sheets",
    "reference",
    "shop_profile",
}
VAGUE = re.compile(r"utils?|helpers?|common|misc|manager")


@dataclass(frozen=True)
class Import:
    """One import as written: by whom, of what, and whether a mere ``import`` runs it."""

    module: str
    target: str
    line: int
    at_load: bool

    def __str__(self) -> str:
        return f"{self.module or '__init__'} line {self.line} imports {self.target}"


def modules(package: Path) -> dict[str, Path]:
    """Every module by its dotted name inside the package; '' is the package itself."""
    found = {}
    for path in sorted(package.rglob("*.py")):
        steps = path.relative_to(package).with_suffix("").parts
        found[".".join(steps[:-1] if steps[-1] == "__init__" else steps)] = path
    return found


@functools.cache
def imports(package: Path) -> tuple[Import, ...]:
    known = modules(package)
    return tuple(
        found
        for name, path in known.items()
        for found in _imports_of(name, ast.parse(path.read_text("utf-8")), package.name, known)
    )


def _imports_of(
    name: str, tree: ast.Module, package: str, known: Iterable[str]
) -> Iterator[Import]:
    at_load = set(_run_at_load(tree))
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            targets = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{name} line {node.lineno}: relative import"
            targets = [_meant(str(node.module), alias.name, package, known) for alias in node.names]
        else:
            continue
        for target in dict.fromkeys(targets):
            yield Import(name, target, node.lineno, node in at_load)


def _meant(module: str, name: str, package: str, known: Iterable[str]) -> str:
    """The module that ``from module import name`` needs: a module of that name, or the first."""
    inner = f"{module}.{name}".removeprefix(f"{package}.")
    return f"{module}.{name}" if module.startswith(package) and inner in known else module


def _run_at_load(tree: ast.AST) -> Iterator[ast.AST]:
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
            continue
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
            continue
        yield node
        yield from _run_at_load(node)


def inside(package: Path) -> list[Import]:
    """The imports of the package's own modules, their targets named inside it."""
    own = [i for i in imports(package) if top(i.target) == package.name]
    return [
        Import(i.module, i.target.removeprefix(package.name).lstrip("."), i.line, i.at_load)
        for i in own
    ]


def top(module: str) -> str:
    return module.split(".")[0]


def layer(module: str) -> int:
    return next(number for number, names in enumerate(LAYERS) if top(module) in names)


def uphill(package: Path) -> list[str]:
    return [str(i) for i in inside(package) if layer(i.target) > layer(i.module)]


def cycle(package: Path) -> list[str]:
    """A ring of modules, each importing the next; empty when there is none."""
    graph: dict[str, set[str]] = {name: set() for name in modules(package)}
    for i in inside(package):
        if i.target != i.module:
            graph[i.module].add(i.target)
    done: set[str] = set()

    def visit(name: str, path: list[str]) -> list[str]:
        if name in path:
            return [*path[path.index(name) :], name]
        if name in done:
            return []
        for target in sorted(graph.get(name, ())):
            ring = visit(target, [*path, name])
            if ring:
                return ring
        done.add(name)
        return []

    return next((ring for name in graph if (ring := visit(name, []))), [])


def reached_at_load(package: Path, start: str) -> set[str]:
    """The foreign top-level packages that importing a module brings along."""
    graph: dict[str, set[str]] = {}
    foreign: dict[str, set[str]] = {}
    for i in imports(package):
        if i.at_load:
            if top(i.target) == package.name:
                graph.setdefault(i.module, set()).add(i.target[len(package.name) + 1 :])
            else:
                foreign.setdefault(i.module, set()).add(top(i.target))
    seen, queue, reached = set(), [start], set()
    while queue:
        name = queue.pop()
        if name in seen:
            continue
        seen.add(name)
        reached |= foreign.get(name, set())
        queue += [*graph.get(name, ()), *_parents(name)]
    return reached


def _parents(name: str) -> list[str]:
    steps = name.split(".")
    return [".".join(steps[:i]) for i in range(len(steps))] if name else []


# --- the package ---------------------------------------------------------------------


def test_every_module_has_its_layer() -> None:
    placed = {name for names in LAYERS for name in names}
    lost = [module for module in modules(PACKAGE) if top(module) not in placed]
    assert lost == [], "give them a place in LAYERS"


def test_imports_point_downhill() -> None:
    assert len(inside(PACKAGE)) > 100  # the reader sees them at all
    assert uphill(PACKAGE) == []


def test_there_are_no_import_cycles() -> None:
    assert cycle(PACKAGE) == []


def test_below_the_solids_nothing_imports_the_modeller() -> None:
    low = [i for i in imports(PACKAGE) if layer(i.module) < SOLID_LAYER]
    heavy = [i for i in low if top(i.target) in HEAVY]
    assert [str(i) for i in heavy if i.module != READS_DRAWINGS or i.at_load] == []


def test_only_sheets_need_the_validator() -> None:
    users = {i.module for i in imports(PACKAGE) if top(i.target) == "pydantic"}
    assert users == READS_SHEETS


@pytest.mark.parametrize("module", [name for name in modules(PACKAGE) if top(name) in NUMBERS_ONLY])
def test_importing_it_does_not_load_the_modeller(module: str) -> None:
    """What must run without a solid, and the command line until a verb asks for one."""
    assert reached_at_load(PACKAGE, module).isdisjoint(HEAVY)


@pytest.mark.parametrize(
    "module",
    [
        n
        for n in modules(PACKAGE)
        if n.startswith(("exports.paper", "exports.plan_pages", "exports.tiles"))
    ],
)
def test_pages_of_a_plan_need_no_solid(module: str) -> None:
    assert reached_at_load(PACKAGE, module).isdisjoint(HEAVY)


@pytest.mark.parametrize("module", ["exports.board_files", "exports.nest_files"])
def test_files_of_a_plan_need_no_solid(module: str) -> None:
    assert reached_at_load(PACKAGE, module).isdisjoint(MODELLER)


def test_only_publishing_asks_for_the_extra_and_only_inside_functions() -> None:
    asks = [i for i in imports(PACKAGE) if top(i.target) in CLUSTER]
    assert {i.module for i in asks} == {"publishing.cluster", "publishing.store"}
    assert not any(i.at_load for i in asks)


@pytest.mark.parametrize("module", ["cli", "__main__", "errors", "units", "tables", "verbs.sizes"])
def test_importing_it_is_light(module: str) -> None:
    assert "pydantic" not in reached_at_load(PACKAGE, module)


@pytest.mark.parametrize("module", list(modules(PACKAGE)))
def test_module_is_in_order(module: str) -> None:
    text = modules(PACKAGE)[module].read_text("utf-8")
    tree = ast.parse(text)
    assert ast.get_docstring(tree), "no docstring"
    assert text.count("\n") < LONGEST, "too long: it is asking to be two things"
    stars = [n for n in ast.walk(tree) if isinstance(n, ast.ImportFrom) and n.names[0].name == "*"]
    assert not stars
    assert not any(VAGUE.fullmatch(word) for word in re.split(r"[._]", module)), "a vague name"
    classes = [node for node in tree.body if isinstance(node, ast.ClassDef)]
    public = [node for node in classes if not node.name.startswith("_")]
    assert [node.name for node in public if not ast.get_docstring(node)] == []


# --- the readers above find what they are for --------------------------------------------


@pytest.fixture
def package(tmp_path: Path) -> Path:
    """A package with one of each sin."""
    texts: Mapping[str, str] = {
        "__init__.py": '"""A package."""',
        "units.py": "from bedmodel import tables",
        "tables.py": "def later():\n    from bedmodel.solids import solid",
        "solids.py": "import cadquery\nfrom bedmodel.errors import Error",
        "errors.py": "",
        "spec.py": "if TYPE_CHECKING:\n    from bedmodel.checks import run",
        "checks/__init__.py": "",
        "checks/run.py": "from bedmodel.checks.one import check",
        "checks/one.py": "def check():\n    import bedmodel.checks.run",
        "cli.py": "try:\n    from bedmodel.solids import solid\nexcept ImportError: pass",
    }
    folder = tmp_path / "bedmodel"
    for name, text in texts.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, "utf-8")
    return folder


def test_uphill_imports_are_found_wherever_they_stand(package: Path) -> None:
    assert uphill(package) == [
        "spec line 2 imports checks.run",
        "tables line 2 imports solids",
        "units line 1 imports tables",
    ]


def test_a_cycle_through_a_function_is_found(package: Path) -> None:
    ring = cycle(package)
    assert ring in (
        ["checks.one", "checks.run", "checks.one"],
        ["checks.run", "checks.one", "checks.run"],
    )


def test_what_is_loaded_is_followed_through_modules_but_not_into_functions(package: Path) -> None:
    assert reached_at_load(package, "cli") == {"cadquery"}
    assert reached_at_load(package, "tables") == set()
    assert reached_at_load(package, "units") == set()
    assert reached_at_load(package, "spec") == set()
