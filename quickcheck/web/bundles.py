"""A page's modules in few files, made when the server starts; what is written stays as it is.

A bundle begins at one module, its head, which keeps its name and address. The modules that it
imports go into it, each in a function of its own, so that no name can meet another; what an earlier
bundle has is imported from there. A module runs once, as it would by itself. What we need of the
language is little, and anything else stops the start: `import { a, b as c } from './x.js'`,
`import * as x from './x.js'`, and `export` before a function, a class or one constant.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from posixpath import dirname, join, normpath, relpath
from typing import Final

try:
    import minify
except ImportError:  # not made for this kind of machine: what is served is heavier, and the same
    minify = None

_IMPORT: Final = re.compile(
    r"^import (?:\{(?P<names>[^}]*)\}|\* as (?P<whole>\w+)) from '(?P<path>\.[^']+)';\n",
    re.MULTILINE,
)
_EXPORT: Final = re.compile(
    r"^export (?=(?:async )?(?:function\*?|class|const) (\w+)\b)", re.MULTILINE
)
_OTHERWISE: Final = re.compile(r"^(?:import|export)\b(?! ?\().*", re.MULTILINE)


@cache
def squeezed(text: str, mimetype: str) -> str:
    """Return a script or a style sheet of ours without what only its readers need."""
    return str(minify.string(mimetype, text)) if minify else text


@dataclass(frozen=True)
class Module:
    """One script as it is written: its path under `static/`, its text."""

    path: str
    text: str

    @cached_property
    def imports(self) -> tuple[tuple[str, str], ...]:
        """Pairs of what is imported, as the left side of a declaration, and the path it is of."""
        here = dirname(self.path)
        return tuple(
            (
                found["whole"] or f"{{{found['names'].replace(' as ', ': ')}}}",
                normpath(join(here, found["path"])),
            )
            for found in _IMPORT.finditer(self.text)
        )

    @cached_property
    def exports(self) -> tuple[str, ...]:
        """The names that others may import."""
        return tuple(_EXPORT.findall(self.text))

    @cached_property
    def body(self) -> str:
        """The text without its imports; ValueError where it does more than we need."""
        body = _IMPORT.sub("", self.text)
        odd = _OTHERWISE.search(_EXPORT.sub("", body))
        if odd:
            raise ValueError(f"{self.path} can't be put into a bundle: {odd[0]}")
        return body


def bundle(scripts: Mapping[str, str], heads: Sequence[str]) -> dict[str, str]:
    """Return the bundles of some heads, in an order in which none needs a later one.

    ``scripts`` is path under `static/` → text; the result has the heads' paths. An import that is
    no script of ours stays one. ValueError for a circle, or for a head that is needed too early.
    """
    return _Bundler({path: Module(path, text) for path, text in scripts.items()}, heads).all()


class _Bundler:
    """Where each module goes, and then the text of the bundles."""

    def __init__(self, modules: Mapping[str, Module], heads: Sequence[str]) -> None:
        self.modules = modules
        self.heads = heads
        self.home: dict[str, str] = {}  # module → head of the bundle that has it
        for head in heads:
            for path in self._walk(head, ()):
                self.home[path] = head
        # Short, as every one is said wherever its module is needed.
        self.names = {path: f"${number}" for number, path in enumerate(self.home)}
        self.wanted = {path: self._wanted(path) for path in self.home}

    def all(self) -> dict[str, str]:
        """Return the text of every bundle."""
        return {head: self._one(head) for head in self.heads}

    def _walk(self, path: str, above: tuple[str, ...]) -> Iterator[str]:
        """Yield what a module needs and no bundle has yet, the module itself last."""
        if path in above:
            raise ValueError(f"{path} needs itself: {' → '.join([*above, path])}")
        if above and path in self.heads and path not in self.home:
            raise ValueError(f"{path} is a bundle, and {above[0]}, which needs it, comes before")
        if path in self.home or path not in self.modules:
            return
        for _, needed in self.modules[path].imports:
            yield from self._walk(needed, (*above, path))
        yield path

    def _wanted(self, path: str) -> tuple[str, ...]:
        """Return what others import of a module, of what it offers."""
        said = [left for home in self.home for left, of in self.modules[home].imports if of == path]
        words = set(re.findall(r"\w+", " ".join(said)))
        whole = any(not left.startswith("{") for left in said)
        return tuple(name for name in self.modules[path].exports if whole or name in words)

    def _one(self, head: str) -> str:
        own = [path for path, home in self.home.items() if home == head]
        outside = {path for each in own for _, path in self.modules[each].imports} - {*own}
        inside = [self._wrapped(path) for path in own if path != head]
        last = self._needs(head) + self.modules[head].body
        return "".join([*self._imports(head, outside), *inside, last, self._offered(head)])

    def _imports(self, head: str, outside: set[str]) -> Iterator[str]:
        """Yield the statements that bring what is not in a bundle: modules of others, and heads."""
        homes: dict[str, list[str]] = {}
        for path in sorted(outside):
            homes.setdefault(self.home.get(path, path), []).append(path)
        for home, of in homes.items():
            there = relpath(home, dirname(head))
            there = there if there.startswith(".") else f"./{there}"
            whole = [path for path in of if path == home]
            parts = ", ".join(self._name(path) for path in of if path != home)
            yield from (f"import * as {self._name(path)} from '{there}';\n" for path in whole)
            yield f"import {{ {parts} }} from '{there}';\n" if parts else ""

    def _name(self, path: str) -> str:
        return self.names.get(path) or "$" + re.sub(r"\W", "_", path)

    def _needs(self, path: str) -> str:
        """Return the declarations of what a module imports."""
        pairs = ((left, self._name(needed)) for left, needed in self.modules[path].imports)
        return "".join(f"const {left} = {name};\n" for left, name in pairs)

    def _wrapped(self, path: str) -> str:
        body = self._needs(path) + _EXPORT.sub("", self.modules[path].body)
        given = f"return {{ {', '.join(self.wanted[path])} }};"
        return f"const {self.names[path]} = (() => {{\n{body}{given}\n}})();\n"

    def _offered(self, head: str) -> str:
        """Return the export of what later bundles need of this one's modules."""
        asked = {
            self.names[path]
            for each, home in self.home.items()
            for _, path in self.modules[each].imports
            if home != head and self.home.get(path) == head and path != head
        }
        return f"export {{ {', '.join(sorted(asked))} }};\n" if asked else ""
