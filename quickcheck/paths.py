"""Where templates, static files and the demo live.

In a checkout they stand at the top level, beside the package; a wheel carries them inside it.
"""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def _find(name: str) -> Path:
    inside = _PACKAGE / name
    return inside if inside.is_dir() else _PACKAGE.parent / name


TEMPLATES = _find("templates")
STATIC = _find("static")
DEMO = _find("demo")
