"""A page's modules in few files, made when the server starts; what is written stays as it is.

A bundle begins at one module, its head, which keeps its name and address. The modules that it
imports go into it, each in a function of its own, so that no name can meet another; what an earlier
bundle has is imported from there. A module runs once, as it would by itself, and what is served can
still be read. What we need of the language is little, and anything else stops the start:
`import { a, b as c } from './x.js'`, `import * as x from './x.js'`, and `export` before a function,
a class or one constant.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from posixpath import dirname, join, normpath, relpath
from typing import Final

_UNREAD: Final = (
    (re.compile(r"^[ \t]*(?://[^\n]*|/\*(?:(?!\*/).)*\*/)[ \t]*\n", re.MULTILINE | re.DOTALL), ""),
    (re.compile(r"/\*\*(?:(?!\*/)[^\n])*\*/ ?"), ""),
    (re.compile(r" +// [^'\"`/\n]*$", re.MULTILINE), ""),
    (re.compile(r"^[ \t]+", re.MULTILINE), ""),
    (re.compile(r"\n{2,}"), "\n"),
)
_LITERAL: Final = re.compile(r"('(?:[^'\\]|\\.)*'|\"(?:[^\"\\]|\\.)*\"|`(?:[^`\\]|\\.)*`)")
_AROUND: Final = re.compile(r" ?([,;:?(){}=<>&|*]+) ?")
_IMPORT: Final = re.compile(
    r"^import (?:\{(?P<names>[^}]*)\}|\* as (?P<whole>\w+)) from '(?P<path>\.[^']+)';\n",
    re.MULTILINE,
)
_EXPORT: Final = re.compile(
    r"^export (?=(?:async )?(?:function|class|const) (\w+)\b)", re.MULTILINE
)
_STYLE_COMMENT: Final = re.compile(r"^[ \t]*/\*.*?\*/\n|^[ \t]+", re.MULTILINE | re.DOTALL)
_OTHERWISE: Final = re.compile(r"^(?:import|export)\b(?! ?\().*", re.MULTILINE)


def bare(script: str) -> str:
    """Return a script of ours without comments, blank lines and most spaces.

    Our style allows it by lines: a comment stands alone or ends a line, but for the casts of JSDoc,
    and no text goes over a line's end.
    """
    for pattern, instead in _UNREAD:
        script = pattern.sub(instead, script)
    return "\n".join(map(_squeezed, script.split("\n")))


def _squeezed(line: str) -> str:
    """Return a line without the spaces beside its signs, those in texts left as they are.

    With a slash it may have a pattern or a comment, with a third backtick a text within a text:
    then it stays whole.
    """
    if "/" in line or line.count("`") > 2:
        return line
    parts = _LITERAL.split(line)
    parts[::2] = [_AROUND.sub(r"\1", part) for part in parts[::2]]
    return "".join(parts)


def bare_style(sheet: str) -> str:
    """Return a style sheet of ours without comments on lines of their own, and indentation."""
    return _STYLE_COMMENT.sub("", sheet)


@dataclass(frozen=True)
class Module:
    """One script as it is written: its path under `static/`, its text."""

    path: str
    text: str

    @property
    def name(self) -> str:
        """What the module is called inside a bundle."""
        return "$" + re.sub(r"\W", "_", self.path.removesuffix(".js"))

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
    """Where each module has gone so far."""

    def __init__(self, modules: Mapping[str, Module], heads: Sequence[str]) -> None:
        self.modules = modules
        self.heads = heads
        self.home: dict[str, str] = {}  # module → head of the bundle that has it
        self.asked: dict[str, set[str]] = {head: set() for head in heads}  # of its own, by others

    def all(self) -> dict[str, str]:
        """Return the text of every bundle."""
        made = {head: self._one(head) for head in self.heads}
        return {head: bare(text + self._offered(head)) for head, text in made.items()}

    def _one(self, head: str) -> str:
        own = list(self._walk(head, ()))
        outside: dict[str, str] = {}
        inside = [self._wrapped(path, outside) for path in own[:-1]]
        last = self.modules[head]
        needed = self._needs(last, outside)
        return "".join([*outside.values(), *inside, needed, last.body])

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
        if path not in self.home:
            self.home[path] = above[0] if above else path
            yield path

    def _wrapped(self, path: str, outside: dict[str, str]) -> str:
        module = self.modules[path]
        needed = self._needs(module, outside)
        body = _EXPORT.sub("", module.body)
        given = ", ".join(module.exports)
        return f"const {module.name} = (() => {{\n{needed}{body}return {{ {given} }};\n}})();\n"

    def _needs(self, module: Module, outside: dict[str, str]) -> str:
        """Return the declarations of what a module imports; what its bundle imports grows."""
        own = self.home[module.path]
        found = []
        for left, path in module.imports:
            name = Module(path, "").name
            found.append(f"const {left} = {name};\n" if left != name else "")
            home = self.home.get(path, path)
            if home == own:
                continue
            there = relpath(home, dirname(own))
            there = there if there.startswith(".") else f"./{there}"
            what = f"* as {name}" if home == path else f"{{ {name} }}"
            outside[path] = f"import {what} from '{there}';\n"
            if home != path:
                self.asked[home].add(name)
        return "".join(found)

    def _offered(self, head: str) -> str:
        names = sorted(self.asked[head])
        return f"export {{ {', '.join(names)} }};\n" if names else ""
