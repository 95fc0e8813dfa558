"""Numbers set by hand in the code that reads a photo: how many there are, and which lack a reason.

    python -m reader.train.bench.numbers [--all]

Counts number literals from the finder to the verdict that could have been others. Left out are:
places in a match or an array, digits to round to, sizes of caches and 0, 1, -1, 2; half, a
hundredth and the 8-bit range where they are reckoned with; what only keeps a division from zero;
logarithms; definitions of units. Numbers in `data/` have their source or their fit there; the
resolver's weights are counted where the fit left them as they were. A number has a reason if a
comment stands on its line, on its statement's first line or right above, or a text right below.
"""

from __future__ import annotations

import argparse
import ast
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, fields
from pathlib import Path

from reader.resolve.weights import JUDGED, Weights, load_weights

ROOT = Path(__file__).parents[2]
PATHS = (
    "cascade.py", "work.py", "ranking.py", "selection.py", "detect", "ocr", "photo/enhance.py",
    "photo/rectify.py", "text", "markings", "names/index.py", "names/meanings.py",
    "names/pairs.py", "resolve",
)  # fmt: skip
LEFT_OUT = (
    "detect/debug.py", "ocr/replay.py", "ocr/stamp.py", "ocr/scene_models.py", "text/units.py",
    "resolve/weights.py",
)  # fmt: skip
PLAIN = (0, 1, -1, 2)
RECKONED = (0.5, 100, 255, 127.5)  # in a sum or a product: half, per cent, grey levels
TINY = 1e-6
COUNTING = {"group", "start", "end", "span", "round", "reshape", "lru_cache"}  # calls


@dataclass(frozen=True)
class Number:
    """One number set by hand."""

    path: str
    line: int
    value: float
    text: str
    reasoned: bool


def files() -> Iterator[Path]:
    """The files looked at."""
    left = {ROOT / name for name in LEFT_OUT}
    for name in PATHS:
        path = ROOT / name
        yield from (one for one in (sorted(path.glob("*.py")) or [path]) if one not in left)


def numbers(path: Path) -> Iterator[Number]:
    """The numbers of one file, by line."""
    text = path.read_text(encoding="utf-8")
    lines = text.splitlines()
    tree = ast.parse(text)
    counted = {id(node) for one in _structural(tree) for node in ast.walk(one)}
    reckoned = {
        id(node)
        for one in ast.walk(tree)
        if isinstance(one, ast.BinOp)
        for node in (one.left, one.right)
    }
    for statement in _statements(tree):
        for node in _own(statement):
            if not isinstance(node, ast.Constant) or id(node) in counted:
                continue
            if isinstance(node.value, bool) or not isinstance(node.value, int | float):
                continue
            if node.value in PLAIN or abs(node.value) <= TINY:
                continue
            if node.value in RECKONED and id(node) in reckoned:
                continue
            yield Number(
                str(path.relative_to(ROOT)),
                node.lineno,
                node.value,
                lines[node.lineno - 1].strip(),
                _has_reason(lines, statement, node),
            )


def weights() -> Iterator[Number]:
    """The resolver's weights that no fit has moved; each has its reason where it is declared."""
    fitted = load_weights()
    for one in fields(Weights):
        value = getattr(fitted, one.name)
        if value == getattr(JUDGED, one.name):
            yield Number("data/resolver.json", 0, value, one.name, True)


def _statements(tree: ast.AST) -> Iterator[ast.stmt]:
    return (node for node in ast.walk(tree) if isinstance(node, ast.stmt))


def _own(statement: ast.stmt) -> Iterator[ast.AST]:
    """The nodes of a statement, without those of statements inside it."""
    todo: list[ast.AST] = [statement]
    while todo:
        node = todo.pop()
        yield node
        todo += [one for one in ast.iter_child_nodes(node) if not isinstance(one, ast.stmt)]


def _structural(tree: ast.AST) -> Iterator[ast.AST]:
    """Nodes whose numbers count places."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Subscript):
            yield node.slice
        elif isinstance(node, ast.comprehension) and _is_match(tree, node):
            yield node.iter
        elif isinstance(node, ast.Call):
            name = getattr(node.func, "attr", getattr(node.func, "id", ""))
            if name in COUNTING:
                yield from (*node.args, *(one.value for one in node.keywords))
            yield from (
                one.value for one in node.keywords if one.arg in ("axis", "maxsize", "ndim")
            )


def _is_match(tree: ast.AST, loop: ast.comprehension) -> bool:
    """Whether a loop runs over places in a match: `match[i] for i in (2, 8)`."""
    if not isinstance(loop.target, ast.Name) or not isinstance(loop.iter, ast.Tuple):
        return False
    return any(
        isinstance(node, ast.Subscript)
        and isinstance(node.value, ast.Name)
        and node.value.id == "match"
        and loop.target.id in {n.id for n in ast.walk(node.slice) if isinstance(n, ast.Name)}
        for node in ast.walk(tree)
    )


def _has_reason(lines: list[str], statement: ast.stmt, node: ast.Constant) -> bool:
    first, last = statement.lineno, statement.end_lineno or statement.lineno
    near = [lines[node.lineno - 1], lines[first - 1], *lines[max(first - 2, 0) : first - 1]]
    if any("#" in line.replace("# noqa", "").replace("# fmt", "") for line in near):
        return True
    below = lines[last].strip() if last < len(lines) else ""
    return below.startswith('"""')


def main() -> None:
    """Count, by file."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--all", action="store_true", help="list every one, not only bare ones")
    wishes = parser.parse_args()
    found = [*weights(), *(one for path in files() for one in numbers(path))]
    for one in found:
        if wishes.all or not one.reasoned:
            print(f"{one.path}:{one.line}: {one.value:g}   {one.text}")
    for path, count in sorted(Counter(one.path for one in found).items()):
        print(f"{count:4} {path}")
    bare = sum(not one.reasoned for one in found)
    print(f"{len(found):4} numbers set by hand, {bare} of them without a reason beside them")


if __name__ == "__main__":
    main()
