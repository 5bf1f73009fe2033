"""Lock files, the environment maker, the modeller's loader, and the packages."""

from __future__ import annotations

import ast
import importlib
import json
import os
import re
import shutil
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

import environment
import run_tests
from bedmodel import kernel
from bedmodel.errors import MissingLibrary

ROOT = Path(__file__).resolve().parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
LOCKS = (environment.RUNTIME_LOCK, environment.DEVELOPER_LOCK)

needs_posix = pytest.mark.skipif(os.name == "nt", reason="makes a stand-in with symbolic links")


# --- lock files -----------------------------------------------------------------


def pins(lock: str) -> dict[str, dict[str, frozenset[str]]]:
    """Return the hashes by version by package, parsed apart from pip."""
    text = (ROOT / lock).read_text("utf-8").replace("\\\n", " ")
    found: dict[str, dict[str, frozenset[str]]] = {}
    for line in text.splitlines():
        if not line or line.lstrip().startswith("#"):
            continue
        name, version = re.match(r"([A-Za-z0-9._-]+)==([^\s;]+)", line).groups()  # type: ignore[union-attr]
        hashes = frozenset(re.findall(r"--hash=(sha256:[0-9a-f]{64})\b", line))
        found.setdefault(canonicalize_name(name), {})[version] = hashes
    return found


@pytest.mark.parametrize("lock", LOCKS)
def test_lock_file_holds_only_pins_with_hashes(lock: str) -> None:
    text = (ROOT / lock).read_text("utf-8")
    assert "://" not in text
    assert not re.search(r"find-links|index-url|trusted-host", text)
    assert not re.search(r"(?m)(^|[\s=@])(/|[A-Za-z]:\\|~/|file:)", text)
    for name, versions in pins(lock).items():
        for version, hashes in versions.items():
            assert hashes, f"{name}=={version} has no hash"


@pytest.mark.parametrize(
    ("lock", "wanted"),
    [
        (LOCKS[0], PROJECT["dependencies"]),
        (LOCKS[1], PROJECT["dependencies"] + PROJECT["optional-dependencies"]["dev"]),
    ],
    ids=["runtime", "dev"],
)
def test_lock_file_pins_every_dependency_inside_its_range(lock: str, wanted: list[str]) -> None:
    found = pins(lock)
    for requirement in map(Requirement, wanted):
        versions = found.get(canonicalize_name(requirement.name), {})
        assert versions, f"{requirement} is not in {lock}"
        assert all(requirement.specifier.contains(Version(v)) for v in versions), requirement


def test_developer_lock_is_the_runtime_lock_and_more() -> None:
    runtime, developer = map(pins, LOCKS)
    assert {name: developer.get(name) for name in runtime} == runtime
    assert "pytest" in developer.keys() - runtime.keys()


def test_locks_tell_how_to_make_them_again() -> None:
    for lock in LOCKS:
        head = (ROOT / lock).read_text("utf-8").splitlines()[1]
        assert "uv pip compile" in head
        assert head.endswith(f"--output-file {lock}")


# --- the environment maker: what it decides -------------------------------------


class Maker:
    """A stand-in for the steps of a make: notes them, writes what they would leave."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.steps: list[str] = []
        self.fail_at = ""

    def run(self, command: list[str], descriptor: int, failure: str) -> None:
        step = command[2]
        self.steps.append(step)
        # Written last: no marker while anything that needs it is still going on.
        if step == "venv":
            assert os.listdir(self.folder) == [environment.LOCK_NAME]
            python = Path(environment.environment_python(str(self.folder)))
            python.parent.mkdir()
            python.write_text("")
        if step == self.fail_at:
            (self.folder / "half-done").write_text("")
            raise environment.SetupError(f"{failure}: broken off")

    def ensure(self, lock: str = environment.RUNTIME_LOCK) -> list[str]:
        """Return the steps that this call took."""
        self.steps = []
        environment.ensure(str(self.folder), lock)
        return self.steps


@pytest.fixture
def maker(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Maker:
    stand_in = Maker(tmp_path / "environment")
    monkeypatch.setattr(environment, "run", stand_in.run)
    return stand_in


def test_made_once_and_then_left_alone(maker: Maker) -> None:
    assert maker.ensure() == ["venv", "pip"]
    assert maker.ensure() == []


@pytest.mark.parametrize("step", ["venv", "pip"])
def test_interrupted_make_is_started_afresh(maker: Maker, step: str) -> None:
    maker.fail_at = step
    with pytest.raises(environment.SetupError, match="broken off"):
        maker.ensure()
    assert not (maker.folder / environment.MARKER_NAME).exists()
    maker.fail_at = ""
    assert maker.ensure() == ["venv", "pip"]
    assert not (maker.folder / "half-done").exists()


def test_developer_packages_are_added_and_serve_both(maker: Maker) -> None:
    assert maker.ensure() == ["venv", "pip"]
    assert maker.ensure(environment.DEVELOPER_LOCK) == ["pip"]
    assert maker.ensure(environment.RUNTIME_LOCK) == []
    assert maker.ensure(environment.DEVELOPER_LOCK) == []


def test_interrupted_addition_keeps_the_runtime(maker: Maker) -> None:
    maker.ensure()
    maker.fail_at = "pip"
    with pytest.raises(environment.SetupError):
        maker.ensure(environment.DEVELOPER_LOCK)
    maker.fail_at = ""
    assert maker.ensure(environment.RUNTIME_LOCK) == []
    assert maker.ensure(environment.DEVELOPER_LOCK) == ["pip"]


@pytest.mark.parametrize("spoil", ["lock", "python", "garbled", "gone"])
def test_environment_that_no_longer_fits_is_made_again(
    maker: Maker, monkeypatch: pytest.MonkeyPatch, spoil: str
) -> None:
    maker.ensure()
    marker = maker.folder / environment.MARKER_NAME
    if spoil == "lock":
        monkeypatch.setattr(environment, "lock_hash", lambda lock: "another")
    elif spoil == "python":
        monkeypatch.setattr(environment, "python_tag", lambda: "another")
    elif spoil == "garbled":
        marker.write_text(json.dumps({"python": environment.python_tag(), "locks": 7}))
    else:  # the Python that the environment points to was removed
        os.remove(environment.environment_python(str(maker.folder)))
    assert maker.ensure() == ["venv", "pip"]


def test_folder_of_someone_else_is_left_alone(maker: Maker) -> None:
    maker.folder.mkdir()
    letter = maker.folder / "letter.txt"
    letter.write_text("dear")
    with pytest.raises(environment.SetupError, match="was not made by this script"):
        maker.ensure()
    assert os.listdir(maker.folder) == ["letter.txt"]
    assert maker.steps == []


def test_line_ends_of_a_checkout_do_not_matter(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(environment, "ROOT", str(tmp_path))
    (tmp_path / "a").write_bytes(b"x==1\ny==2\n")
    (tmp_path / "b").write_bytes(b"x==1\r\ny==2\r\n")
    (tmp_path / "c").write_bytes(b"x==1\ny==3\n")
    a, b, c = map(environment.lock_hash, "abc")
    assert a == b != c


def test_two_processes_make_it_once(tmp_path: Path) -> None:
    """The steps are slowed down: without the lock both processes would take them."""
    program = f"""
import os, sys, time
sys.path.insert(0, {os.fspath(ROOT / "scripts")!r})
import environment
def run(command, descriptor, failure):
    with open({os.fspath(tmp_path / "steps")!r}, "a") as file:
        file.write(command[2] + "\\n")
    python = environment.environment_python({os.fspath(tmp_path / "environment")!r})
    os.makedirs(os.path.dirname(python), exist_ok=True)
    open(python, "w").close()
    time.sleep(0.5)
environment.run = run
print("up", flush=True)
sys.stdin.readline()  # both start together
environment.ensure({os.fspath(tmp_path / "environment")!r}, environment.RUNTIME_LOCK)
"""
    children = [
        subprocess.Popen(
            [sys.executable, "-c", program],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for _ in range(2)
    ]
    for child in children:
        assert child.stdout is not None
        assert child.stdout.readline() == "up\n"
    for child in children:
        assert child.stdin is not None
        child.stdin.write("\n")
        child.stdin.flush()
    said = [child.communicate()[1] for child in children]
    assert [child.returncode for child in children] == [0, 0], said
    assert (tmp_path / "steps").read_text().split() == ["venv", "pip"]


# --- the environment maker: what it says ----------------------------------------


@pytest.fixture
def refused(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> Iterator[Callable[[], str]]:
    """Return a call that starts the script, expects exit 2, and returns its last line."""
    monkeypatch.setenv("BEDMODEL_VENV", str(tmp_path / "environment"))

    def call() -> str:
        with pytest.raises(SystemExit) as stop:
            environment.main(["-c", "pass"])
        assert stop.value.code == 2
        output = capsys.readouterr()
        assert output.out == ""
        lines = output.err.splitlines()
        assert sum(line.startswith("error: ") for line in lines) == 1
        return lines[-1]

    return call


def test_old_python_is_told(
    monkeypatch: pytest.MonkeyPatch, refused: Callable[[], str], tmp_path: Path
) -> None:
    check = environment.check_python
    monkeypatch.setattr(environment, "check_python", lambda: check((3, 10, 13, "final", 0)))
    line = refused()
    assert "Python 3.11 or newer is needed, this is 3.10.13" in line
    assert not (tmp_path / "environment").exists()


@pytest.mark.parametrize("version", [(3, 11, 0), (3, 12, 1), (4, 0, 0)])
def test_new_python_is_taken(version: tuple[int, int, int]) -> None:
    environment.check_python(version)


def test_missing_module_names_the_package(
    monkeypatch: pytest.MonkeyPatch, refused: Callable[[], str]
) -> None:
    find = importlib.util.find_spec
    monkeypatch.setattr(
        importlib.util, "find_spec", lambda name: None if name == "ensurepip" else find(name)
    )
    line = refused()
    assert "module ensurepip" in line
    assert "apt-get install python3-venv" in line


def test_folder_that_cannot_be_written(
    monkeypatch: pytest.MonkeyPatch, refused: Callable[[], str], tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("BEDMODEL_VENV", str(tmp_path / "file" / "environment"))
    line = refused()
    assert "cannot write the environment" in line
    assert "BEDMODEL_VENV" in line


@needs_posix
def test_failed_install_gives_its_last_useful_line(
    monkeypatch: pytest.MonkeyPatch, refused: Callable[[], str], tmp_path: Path
) -> None:
    """A stand-in for the environment's Python fails as pip does."""
    real_run = environment.run

    def run(command: list[str], descriptor: int, failure: str) -> None:
        python = Path(environment.environment_python(str(tmp_path / "environment")))
        if command[2] == "venv":
            python.parent.mkdir()
            python.write_text("#!/bin/sh\necho 'ERROR: disk on fire'\necho 'bye'\nexit 1\n")
            python.chmod(0o755)
        else:
            real_run(command, descriptor, failure)

    monkeypatch.setattr(environment, "run", run)
    assert refused() == "error: cannot install the packages: disk on fire"


@pytest.mark.parametrize(
    ("output", "reason", "hint"),
    [
        ("ERROR: first\nERROR: second\n[notice] upgrade", "second", ""),
        ("Collecting a\nsomething broke\n\n", "something broke", ""),
        ("", "no reason given", ""),
        ("WARNING: Retrying (Retry(total=4\nERROR: none found", "none found", "network"),
        ("ERROR: No matching distribution found for a==1", "No matching", "ready-made"),
    ],
)
def test_useful_line(output: str, reason: str, hint: str) -> None:
    line = environment.useful_line(output.split("\n"))
    assert line.startswith(reason)
    assert hint in line


@needs_posix
def test_command_gets_arguments_and_gives_its_exit_code(tmp_path: Path) -> None:
    folder = tmp_path / "environment"
    python = Path(environment.environment_python(str(folder)))
    python.parent.mkdir(parents=True)
    python.symlink_to(os.path.realpath(sys.executable))
    environment.write_marker(str(folder), [environment.RUNTIME_LOCK])
    program = "import os, sys; print(sys.argv[1:], os.environ['PYTHONPATH']); sys.exit(7)"
    command = [sys.executable, str(ROOT / "scripts" / "environment.py"), "-c", program]
    done = subprocess.run(
        [*command, "--size", "two words", "--dev"],
        env={**os.environ, "BEDMODEL_VENV": str(folder), "PYTHONPATH": "/elsewhere"},
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (7, "")
    assert done.stdout == f"['--size', 'two words', '--dev'] {ROOT}\n"


@pytest.mark.parametrize("name", ["environment", "regenerate", "run_tests"])
def test_scripts_can_be_read_by_an_old_python(name: str) -> None:
    """So that it can print that it is too old, where a syntax error would tell nothing."""
    tree = ast.parse((ROOT / "scripts" / f"{name}.py").read_text("utf-8"), feature_version=(3, 7))
    nodes = list(ast.walk(tree))
    imported = {alias.name for n in nodes if isinstance(n, ast.Import) for alias in n.names}
    imported |= {n.module or "" for n in nodes if isinstance(n, ast.ImportFrom)}
    roots = {name.partition(".")[0] for name in imported}
    assert roots - {"environment"} <= sys.stdlib_module_names


@pytest.mark.parametrize(
    ("given", "spread"),
    [
        ([], True),
        (["tests/test_setup.py", "-k", "lock"], True),
        (["-n", "0"], False),
        (["-n2"], False),
        (["--numprocesses=1"], False),
        (["-p", "no:xdist"], False),
        (["-x", "--pdb"], False),
    ],
)
def test_tests_are_spread_unless_the_user_decides(given: list[str], spread: bool) -> None:
    made = run_tests.pytest_arguments(given)
    assert made[len(made) - len(given) :] == given
    assert (made[:1] == ["-n"] and len(made) > len(given)) == spread


# --- loading the modeller --------------------------------------------------------


def failing_load(monkeypatch: pytest.MonkeyPatch, error: Exception) -> None:
    def fail(name: str) -> None:
        assert name == "cadquery"
        raise error

    monkeypatch.setattr(importlib, "import_module", fail)
    kernel.load()


@pytest.mark.parametrize(
    ("library", "packages"),
    [
        ("libGL.so.1", ["libgl1 ", "mesa-libGL ", "libglvnd ", "Alpine is not supported"]),
        ("libX11.so.6", ["libx11-6 ", "libX11 ", "libx11 "]),
        ("libunheard-of.so.2.5", ["contains libunheard-of.so.2.5"]),
    ],
)
def test_missing_system_library_is_named_with_its_package(
    monkeypatch: pytest.MonkeyPatch, library: str, packages: list[str]
) -> None:
    reason = f"{library}: cannot open shared object file: No such file or directory"
    with pytest.raises(MissingLibrary) as caught:
        failing_load(monkeypatch, ImportError(reason))
    line = str(caught.value)
    assert f"system library {library} is missing" in line
    assert all(package in line for package in packages)
    assert "\n" not in line
    assert caught.value.exit_code == 2


def test_missing_windows_runtime_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    reason = "DLL load failed while importing OCP: The specified module could not be found."
    with pytest.raises(MissingLibrary, match=r"Visual C\+\+ Redistributable"):
        failing_load(monkeypatch, ImportError(reason))


@pytest.mark.parametrize(
    ("module", "said"), [("cadquery", "cadquery is not installed"), ("OCP", "lacks its module OCP")]
)
def test_missing_modeller_has_a_remedy(
    monkeypatch: pytest.MonkeyPatch, module: str, said: str
) -> None:
    with pytest.raises(MissingLibrary) as caught:
        failing_load(monkeypatch, ModuleNotFoundError(f"No module named {module}", name=module))
    assert said in str(caught.value)
    assert "scripts/regenerate.py" in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    "error", [ImportError("cannot import name 'Plane'"), RuntimeError("broken"), OSError("disk")]
)
def test_other_failures_pass_unchanged(monkeypatch: pytest.MonkeyPatch, error: Exception) -> None:
    with pytest.raises(type(error)) as caught:
        failing_load(monkeypatch, error)
    assert caught.value is error


def test_loader_is_light_until_asked_and_returns_the_modeller() -> None:
    program = (
        "import sys; from bedmodel import kernel; before = 'cadquery' in sys.modules; "
        "print(before, kernel.load().Workplane().box(2, 3, 5).val().Volume())"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True
    )
    before, volume = done.stdout.split()
    assert before == "False"
    assert float(volume) == pytest.approx(30, rel=1e-12)


# --- packages --------------------------------------------------------------------


def build(root: Path, kind: str, into: Path) -> Path:
    """Build with the tool's own command; return the one file that it wrote."""
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", kind, "-d", str(into)],
        cwd=root,
        capture_output=True,
        check=True,
    )
    (made,) = into.iterdir()
    return made


@pytest.fixture(scope="module")
def clone(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a copy of the repository with litter that must not travel."""
    root = tmp_path_factory.mktemp("clone")
    for name in ("bedmodel", "scripts", "shared", "tests"):
        shutil.copytree(ROOT / name, root / name, ignore=shutil.ignore_patterns("__pycache__"))
    for path in ROOT.iterdir():
        if path.is_file() and path.name != ".git":  # a file in a worktree
            shutil.copy(path, root)
    for litter in ("shared/pictures", "out/any", ".venv/lib", "bedmodel/__pycache__", ".git"):
        (root / litter).mkdir(parents=True, exist_ok=True)
        (root / litter / "litter.pyc").write_text("")
    (root / "shared" / "pictures" / "litter.png").write_bytes(b"")
    return root


@pytest.fixture(scope="module")
def wheel_names(clone: Path, tmp_path_factory: pytest.TempPathFactory) -> set[str]:
    with zipfile.ZipFile(build(clone, "wheel", tmp_path_factory.mktemp("wheel"))) as wheel:
        return set(wheel.namelist())


def test_wheel_holds_modules_tables_and_sheets(wheel_names: set[str]) -> None:
    package = {
        path.relative_to(ROOT).as_posix()
        for pattern in ("*.py", "*.csv")
        for path in (ROOT / "bedmodel").rglob(pattern)
    }
    shared = {
        f"bedmodel/{path.relative_to(ROOT).as_posix()}"
        for path in (ROOT / "shared").iterdir()
        if path.is_file()
    }
    sheets = [name for name in shared if name.endswith(".toml")]
    assert any(name.startswith("bedmodel/data/") for name in package)
    assert len(sheets) >= 3
    assert package | shared <= wheel_names


def test_wheel_holds_nothing_else(wheel_names: set[str]) -> None:
    assert {name.split("/")[0].partition("-")[0] for name in wheel_names} == {"bedmodel"}
    assert not [name for name in wheel_names if "litter" in name or "/test" in name]


def test_wheel_says_version_command_and_licence(
    clone: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    version = re.search(
        r'__version__ = "(.+)"', (ROOT / "bedmodel" / "__init__.py").read_text("utf-8")
    )
    assert version
    path = build(clone, "wheel", tmp_path_factory.mktemp("wheel"))
    about = f"bedmodel-{version[1]}.dist-info"
    with zipfile.ZipFile(path) as wheel:
        metadata = wheel.read(f"{about}/METADATA").decode()
        commands = wheel.read(f"{about}/entry_points.txt").decode()
        licence = wheel.read(f"{about}/licenses/LICENSE").decode()
        vendored = "bedmodel/exports/report/vendor/LICENSE-three.txt"
        assert "three.js authors" in wheel.read(f"{about}/licenses/{vendored}").decode()
    assert "bedmodel = bedmodel.cli:entry" in commands
    assert "Requires-Python: >=3.11" in metadata
    assert "the bedmodel authors" in licence


def test_source_package_builds_the_same_wheel(
    clone: Path, wheel_names: set[str], tmp_path: Path
) -> None:
    with tarfile.open(build(clone, "sdist", tmp_path / "sdist")) as source:
        names = {name.partition("/")[2] for name in source.getnames()}
        # Early releases of Python 3.11 have no filters; the archive is our own.
        source.extraction_filter = getattr(tarfile, "data_filter", None)
        source.extractall(tmp_path / "unpacked")
    assert {*LOCKS, "tests/test_setup.py", "scripts/regenerate.py"} <= names
    assert not [name for name in names if "litter" in name]
    (root,) = (tmp_path / "unpacked").iterdir()
    with zipfile.ZipFile(build(root, "wheel", tmp_path / "wheel")) as wheel:
        assert set(wheel.namelist()) == wheel_names
