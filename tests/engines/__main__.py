"""Walk through the app in other engines and print what was found: ``python -m tests.engines``."""

import argparse
import sys
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final

from tests.browser.walking import Shop
from tests.engines.core_walk import Found, Walk
from tests.engines.engine import Engine, EngineError
from tests.engines.firefox import Firefox
from tests.engines.webkit import WebKit

ENGINES: Final[Mapping[str, Callable[[], Engine]]] = {"firefox": Firefox, "webkit": WebKit}


def walked(engine: Engine, folder: Path) -> Found:
    """Walk in one engine, with a server, a book and a profile of its own."""
    shop = Shop.on(folder / "shop")
    walk = Walk(engine, shop, folder / "profile")
    with shop.server:
        try:
            engine.start(walk.profile)
            return walk.run()
        except EngineError as error:
            walk.found.faults.append(str(error))
            return walk.found
        finally:
            engine.kill()


def show(engine: Engine, found: Found) -> None:
    """Print the figures, what this engine can't show, and what was wrong."""
    print(f"\n{engine.name} {engine.version}, pressed by {engine.pointer}")
    for name, value in found.figures.items():
        print(f"  {name:<32} {value}")
    for note in (*engine.notes, *found.notes):
        print(f"  not shown here: {note}")
    for fault in found.faults:
        print(f"  WRONG: {fault}")


def main(arguments: list[str]) -> int:
    """Walk in every engine that was asked for; 1 if anything was wrong."""
    parser = argparse.ArgumentParser(prog="python -m tests.engines", description=__doc__)
    parser.add_argument("engines", nargs="*", choices=[[], *ENGINES], help="default: all of them")
    wrong = False
    for name in parser.parse_args(arguments).engines or ENGINES:
        engine = ENGINES[name]()
        with tempfile.TemporaryDirectory(
            prefix="quickcheck-", ignore_cleanup_errors=True
        ) as folder:
            found = walked(engine, Path(folder))
        show(engine, found)
        wrong |= bool(found.faults)
    return int(wrong)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
