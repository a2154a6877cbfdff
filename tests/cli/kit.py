"""The command line, run in this process, with what came out of it."""

import json
from pathlib import Path
from typing import Any

from click.testing import CliRunner, Result

from quickcheck.cli import main
from tests import kit


def run(*words: str | Path, typed: str | bytes | None = None, server: Any = None) -> Result:
    """Run a command; a fault of the program's own is raised, not printed."""
    result = CliRunner().invoke(main, [str(word) for word in words], input=typed, obj=server)
    if result.exception and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


def printed_json(result: Result) -> Any:
    """Return what a command printed, as data; nothing else may be printed."""
    return json.loads(result.stdout)


def write_answers(folder: Path, **more: Any) -> Path:
    """Put an answers document into a folder."""
    path = folder / "answers.json"
    path.write_text(json.dumps(kit.document(**more)), encoding="utf-8")
    return path
