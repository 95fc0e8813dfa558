"""Dependencies point one way, and only the command line prints or exits."""

import ast
import subprocess
import sys
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1] / "reader"
STAGES = {"photo", "detect", "ocr", "markings", "names", "resolve", "fit"}
GROUND = {"records", "errors", "tables", "table_rows", "name_rows", "threads", "selection"}
GROUND |= {"checksums", "language", "memory", "processes", "text"}
MIDDLE = {"cascade", "labels", "ranking", "view", "work", "pipeline", "mounted"}
MIDDLE |= {"report", "summary", "catalogue", "sweep"}
TOP = {"cli", "web"}

ALLOWED = {
    "errors": set(),
    "language": set(),
    "memory": set(),
    "processes": set(),
    "text": {"errors", "records"},
    "checksums": {"errors"},
    "threads": {"checksums"},
    "records": {"errors"},
    "table_rows": {"errors", "records"},
    "name_rows": {"table_rows"},
    "selection": {"errors", "records"},
    "tables": GROUND,
    **{stage: GROUND for stage in STAGES},
    "detect": GROUND | {"photo"},  # lines are looked at in straight strips
    "photo": GROUND | {"markings"},  # the overlay tells sizes from what else was read
    # typed sizes are read by the notations, and end in parts and a tape measure's advice
    "names": GROUND | {"fit", "markings"},
    "resolve": GROUND | {"names", "markings"},
    **{part: GROUND | STAGES | MIDDLE for part in MIDDLE},
    **{part: GROUND | STAGES | MIDDLE | TOP for part in TOP},
    # benchmarks start the page and the command line; nothing above may import train in return
    "train": GROUND | STAGES | MIDDLE | TOP,
}
FILES = sorted(path for path in ROOT.rglob("*.py") if path != ROOT / "__init__.py")


def part_of(path):
    """The folder or module right under `reader` that a file belongs to."""
    return path.relative_to(ROOT).parts[0].removesuffix(".py")


def imports(path):
    """Every module named in an import statement, wherever in the file it stands."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: a relative import"
            yield from (f"{node.module}.{name.name}" for name in node.names)


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_file_imports_only_what_lies_below_it(path):
    own = part_of(path)
    used = {name.split(".")[1] for name in imports(path) if name.startswith("reader.")}
    assert used <= ALLOWED[own] | {own, "__init__"}


def test_every_part_has_a_place_in_the_order():
    assert {part_of(path) for path in FILES} <= set(ALLOWED)


def test_sizes_are_told_without_pixels():
    for path in (
        path
        for path in FILES
        if part_of(path) in {"names", "resolve", "fit", "tables", "table_rows"}
    ):
        roots = {name.split(".")[0] for name in imports(path)}
        assert not roots & {"cv2", "PIL", "onnxruntime"}, path


def test_torch_stays_in_training():
    for path in (path for path in FILES if part_of(path) != "train"):
        assert "torch" not in {name.split(".")[0] for name in imports(path)}, path


def test_no_module_of_the_api_imports_a_page():
    for path in (ROOT / "web" / "api").glob("*.py"):
        pages = [name for name in imports(path) if name.startswith("reader.web.pages")]
        assert pages == [], path


def test_what_pages_and_api_share_imports_neither():
    for path in (ROOT / "web").glob("*.py"):
        if path.name != "app.py":
            above = ("reader.web.pages", "reader.web.api")
            assert not [name for name in imports(path) if name.startswith(above)], path


def speaks(node):
    """Whether a call prints or ends the program."""
    if not isinstance(node, ast.Call):
        return False
    name = ast.unparse(node.func)
    return name in {"print", "exit", "quit", "sys.exit", "sys.stdout.write"}


def test_only_the_command_line_prints_or_exits():
    quiet = [path for path in FILES if part_of(path) not in {"cli", "train"}]
    loud = [
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path in quiet
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if speaks(node)
    ]
    assert loud == []


def test_asking_for_help_loads_nothing_heavy():
    heavy = "{'cv2', 'PIL', 'onnxruntime', 'sqlalchemy', 'starlette', 'fastapi', 'torch'}"
    code = f"import sys, reader.cli; print(sorted({heavy} & set(sys.modules)))"
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "[]"


def at_import(node):
    """Import statements that run when the module is loaded, not those inside functions."""
    if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
        return
    if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
        return
    if isinstance(node, ast.Import | ast.ImportFrom):
        yield node
    for child in ast.iter_child_nodes(node):
        yield from at_import(child)


def module_name(path):
    return ".".join(path.relative_to(ROOT.parent).with_suffix("").parts).removesuffix(".__init__")


def test_no_modules_import_each_other_in_a_circle():
    known = {module_name(path): path for path in ROOT.rglob("*.py")}
    graph = {}
    for name, path in known.items():
        wanted = set()
        for node in at_import(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                wanted |= {one.name for one in node.names}
            else:
                for one in node.names:
                    full = f"{node.module}.{one.name}"
                    wanted.add(full if full in known else node.module)
        graph[name] = wanted & known.keys() - {name}
    TopologicalSorter(graph).prepare()  # raises CycleError, which names the circle


def test_no_file_outside_training_is_longer_than_300_lines():
    long = {
        str(path.relative_to(ROOT)): count
        for path in FILES
        if part_of(path) != "train"
        and (count := len(path.read_text(encoding="utf-8").splitlines())) > 300
    }
    assert long == {}
