"""`--help`, `--version`, and what is no command."""

from collections.abc import Iterator

import click
import pytest

import quickcheck
from quickcheck.cli import main
from quickcheck.errors import QuickcheckError
from tests.cli.kit import run


def commands(group: click.Command, *words: str) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    """Yield every command with the words that lead to it, groups as well."""
    yield words, group
    if isinstance(group, click.Group):
        for name, command in group.commands.items():
            yield from commands(command, *words, name)


ALL = dict(commands(main))


@pytest.mark.parametrize("words", ALL, ids=" ".join)
def test_help(words: tuple[str, ...]) -> None:
    """Every command says what it does and what each of its options is for."""
    result = run(*words, "--help")
    assert result.exit_code == 0
    assert result.stdout.startswith("Usage: ")
    command = ALL[words]
    assert command.help
    for parameter in command.params:
        if isinstance(parameter, click.Option):
            assert parameter.opts[0] in result.stdout
            assert parameter.help or parameter.name == "port", parameter.name


@pytest.mark.parametrize("words", ALL, ids=" ".join)
def test_every_command_can_speak_json(words: tuple[str, ...]) -> None:
    """Every command that does something has --json."""
    command = ALL[words]
    if not isinstance(command, click.Group):
        assert any("--json" in parameter.opts for parameter in command.params)


def test_all_commands() -> None:
    """These are all commands: a new one needs its own tests."""
    assert set(ALL) == {
        (),
        ("verdict",),
        ("pair",),
        ("move",),
        ("expect",),
        ("read",),
        ("reference",),
        ("reference", "check"),
        ("reference", "list"),
        ("reference", "new"),
        ("reference", "import"),
        ("reference", "compare"),
        ("reference", "schema"),
        ("learn",),
        ("keys",),
        ("keys", "make"),
        ("keys", "rotate"),
        ("keys", "list"),
        ("keys", "retire"),
        ("card",),
        ("card", "verify"),
        ("serve",),
        ("demo",),
        ("export",),
        ("import",),
        ("health",),
        ("tls",),
        ("tls", "make"),
        ("tls", "show"),
        ("setup",),
        ("kiosk",),
    }


def tree(error: type[QuickcheckError]) -> Iterator[type[QuickcheckError]]:
    """Yield an error and everything below it."""
    yield error
    for below in error.__subclasses__():
        yield from tree(below)


def test_exit_codes_are_written_down() -> None:
    """The help of the program names the exit code of every error, each another one."""
    codes = [error.exit_code for error in tree(QuickcheckError)]
    assert len(codes) == len(set(codes))
    text = " ".join(run("--help").stdout.split("Exit codes:")[1].split())
    for code in [0, 2, *codes]:
        assert f" {code} " in f" {text}"


def test_version() -> None:
    """--version says the version."""
    assert run("--version").stdout == f"quickcheck, version {quickcheck.__version__}\n"


def test_no_such_command() -> None:
    """What is no command is refused by the command line."""
    result = run("guess")
    assert result.exit_code == 2
    assert "guess" in result.stderr
