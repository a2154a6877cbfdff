"""Hold the sizes: a file that can be read at one sitting, a function that fits on one screen."""

import ast
import statistics
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PYTHON_FILE = 400
FUNCTION = 60
SCRIPT = 300
MEDIAN_FILE = 150
MEDIAN_FUNCTION = 12  # with its signature, docstring and closing line


def python_files() -> list[Path]:
    """Return every Python file of the project."""
    found = [
        path for room in ("quickcheck", "tests", "demo") for path in (ROOT / room).rglob("*.py")
    ]
    return sorted(path for path in found if "node_modules" not in path.parts)


def lines(path: Path) -> int:
    """Count the lines of a file."""
    return len(path.read_text(encoding="utf-8").splitlines())


def functions(path: Path) -> Iterator[tuple[str, int]]:
    """Yield each function of a file with its length, decorators left out."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and node.end_lineno:
            yield (
                f"{path.relative_to(ROOT)}:{node.lineno} {node.name}",
                (node.end_lineno - node.lineno + 1),
            )


def too_long() -> Iterator[str]:
    """Yield what is over its budget."""
    for path in python_files():
        if (count := lines(path)) > PYTHON_FILE:
            yield f"{path.relative_to(ROOT)}: {count} lines, at most {PYTHON_FILE}"
        for name, count in functions(path):
            if count > FUNCTION:
                yield f"{name}: {count} lines, at most {FUNCTION}"
    for path in sorted((ROOT / "static").glob("**/*.js")):
        if "vendor" not in path.parts and (count := lines(path)) > SCRIPT:
            yield f"{path.relative_to(ROOT)}: {count} lines, at most {SCRIPT}"


def medians() -> Iterator[tuple[str, float, int]]:
    """Yield the medians over the package, each with what it may be."""
    files = [path for path in python_files() if path.is_relative_to(ROOT / "quickcheck")]
    yield "lines of a file", statistics.median(map(lines, files)), MEDIAN_FILE
    lengths = [count for path in files for _, count in functions(path)]
    yield "lines of a function", statistics.median(lengths), MEDIAN_FUNCTION


def main() -> int:
    """Print what is over its budget; return 1 where anything is."""
    faults = list(too_long())
    for name, median, most in medians():
        print(f"median {name} in the package: {median:g}, at most {most}")
        if median > most:
            faults.append(f"the median {name} is {median:g}, at most {most}")
    print("\n".join(faults))
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
