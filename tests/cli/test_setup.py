"""`quickcheck setup`: asked or told, checked, all or nothing, again and again."""

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from quickcheck import paths
from quickcheck.desk import Wanted, carry_out, plan_of, setting_up, standing_of
from quickcheck.errors import ReferenceFaultsError, SecretError, SetupError
from quickcheck.store import KeyFiles, Store, open_store
from tests import kit
from tests.cli.kit import printed_json, run

SECRET = "horse copper lantern sleet"  # noqa: S105 – of a test
PIN = "480217"
FAIR = ("--show", "Harbour Fair", "--opens", "2026-04-11", "--closes", "2026-04-12")
WHOLE = (*FAIR, "--base-url", "https://cards.example", "--issuer", "Pegbox Lane")
NOW = datetime(2026, 4, 10, 9, tzinfo=UTC)
SECOND = kit.REFERENCE.replace('"loom-one"', '"loom-two"').replace("Loom One", "Loom Two")


def told(*words: str | Path, typed: str = f"{SECRET}\n{PIN}\n") -> Result:
    """Run it without questions, the secrets on standard input."""
    return run("setup", "--yes", "--secrets", *words, typed=typed)


def standing(data: Path) -> dict[str, Any]:
    """Return what is set up, as data."""
    found: dict[str, Any] = printed_json(run("setup", "--yes", "--json"))
    return {key: found[key] for key in ("show", "has_secret", "issuer", "references", "missing")}


@pytest.fixture(name="second")
def _second(tmp_path: Path) -> Path:
    """Return a reference to carry."""
    path = tmp_path / "carried" / "two.toml"
    path.parent.mkdir()
    path.write_text(SECOND, encoding="utf-8")
    return path


def test_all_at_once(data: Path, second: Path) -> None:
    """Without questions everything is set, and the same again changes nothing."""
    result = told(*WHOLE, "--reference", second)
    assert result.exit_code == 0, result.output
    assert "Next: quickcheck kiosk" in result.stdout
    assert SECRET not in result.output
    expected = {
        "show": {
            "name": "Harbour Fair",
            "opens": "2026-04-11",
            "closes": "2026-04-12",
            "base_url": "https://cards.example",
        },
        "has_secret": True,
        "issuer": "Pegbox Lane",
        "references": ["loom-one", "loom-two"],
        "missing": [],
    }
    assert standing(data) == expected
    with open_store(data / "book.sqlite3") as store:
        assert store.access.check_passphrase(SECRET, NOW)
    again = told(*WHOLE, "--reference", second, typed="")
    assert "Nothing was to be changed." in again.stdout
    assert standing(data) == expected
    assert len(list((data / "keys").glob("*.pem"))) == 1


def test_asked(data: Path, second: Path) -> None:
    """Asked one by one, each wrong answer is asked again with what is wrong; then all is done."""
    answers = [
        *("", "Harbour Fair", "2026-02-30", "2026-04-11", "2026-04-10", "2026-04-12"),
        *("cards.example", "http://10.0.0.7", "Pegbox\tLane", "Pegbox Lane"),
        *("short", "short", "harbour fair harbour fair", "harbour fair harbour fair"),
        *(SECRET, SECRET, "123456", "123456", PIN, PIN),
        *(str(data / "nothing.toml"), str(second), "", "y"),
    ]
    result = run("setup", typed="\n".join(answers) + "\n")
    assert result.exit_code == 0, result.output
    for words in (
        "a day such as 2026-04-11",
        "a last day on or after the first",
        "That is over already",
        "an address such as https://cards.example",
        "Plain http: everybody in the hall may read along",
        "a name of 1 to 60 characters",
        "15 characters or more",
        "one that nobody tries first",
        "six digits, not in a row",
        "reference: Loom Two (invented)",
    ):
        assert words in result.stderr, words
    assert SECRET not in result.output
    assert standing(data)["missing"] == []


def test_asked_again(data: Path) -> None:
    """Enter keeps what is there; only what is answered anew is changed."""
    told(*WHOLE)
    kept = run("setup", typed="\n" * 5 + "n\nn\n\n")
    assert "Nothing was to be changed." in kept.stdout, kept.output
    changed = run("setup", "--json", typed="\n\n2026-04-13\n\n\nn\ny\n730518\n730518\n\ny\n")
    assert printed_json(changed)["changed"] == ["show", "pin"]
    other = "violet anchor thunder spoon"
    again = run("setup", "--json", typed=f"\n\n\n\n\ny\n{other}\n{other}\n{PIN}\n{PIN}\n\ny\n")
    assert printed_json(again)["changed"] == ["passphrase", "pin"]
    with open_store(data / "book.sqlite3") as store:
        assert store.access.check_passphrase(other, NOW)


@pytest.mark.parametrize("typed", ["Harbour Fair\n2026-04-11\n", None])
def test_broken_off(data: Path, typed: str | None) -> None:
    """Who stops before the last word, or says no to it, has changed nothing."""
    if typed is None:
        secrets = f"{SECRET}\n{SECRET}\n{PIN}\n{PIN}\n"
        result = run("setup", *WHOLE, typed=f"{secrets}\nn\n")
        assert "Do all of this?" in result.stderr
    else:
        result = run("setup", typed=typed)
    assert result.exit_code == 1
    assert standing(data)["show"] is None
    assert not (data / "keys").exists()


def test_every_fault_at_once() -> None:
    """Without questions all faults are told together, and nothing is done."""
    words = ("--show", "Fair", "--opens", "2026-04-12", "--closes", "2026-04-11", "--base-url", "x")
    result = told(*words, "--issuer", "a\tb", typed="short\n1234\n")
    assert result.exit_code == SetupError.exit_code
    for where in ("days", "issuer", "passphrase"):
        assert f"{where}: expected" in result.stderr
    assert "short" not in result.stderr
    partly = told("--show", "Fair", typed="")
    assert "no opens, closes, base_url" in partly.stderr


def test_pin_alone() -> None:
    """Six digits without a passphrase are refused."""
    result = told(typed=f"\n{PIN}\n")
    assert result.exit_code == SecretError.exit_code
    assert "six digits alone keep nobody out" in result.stderr


def test_secrets_from_the_environment(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """They may be in the environment, and are no option of the command line."""
    monkeypatch.setenv("QUICKCHECK_PASSPHRASE", SECRET)
    assert printed_json(run("setup", "--yes", "--json"))["changed"] == ["passphrase"]
    monkeypatch.delenv("QUICKCHECK_PASSPHRASE")
    assert standing(data)["has_secret"] is True
    monkeypatch.setenv("QUICKCHECK_PIN", PIN)
    assert printed_json(run("setup", "--yes", "--json"))["changed"] == ["pin"]
    assert run("setup", "--passphrase", SECRET).exit_code == 2


@pytest.mark.parametrize(
    ("passphrase", "is_taken"),
    [
        (SECRET, True),
        ("Harbour Fair 2026!!", False),
        ("pegbox-lane-pegbox", False),
        ("passwordpassword1", False),
        ("cardsexample12345", False),
        ("Harbour Fair thunder spoon", True),
        ("aaaaaaaaaaaaaaaaaaaa", False),
    ],
)
def test_guesses(passphrase: str, is_taken: bool) -> None:
    """What is mostly the words on the door is no passphrase; with enough besides it is one."""
    result = told(*WHOLE, typed=f"{passphrase}\n")
    assert result.exit_code == (0 if is_taken else SecretError.exit_code)


def test_reference_in_place_of_another(data: Path, second: Path) -> None:
    """A newer edition takes the place of the one that was there; the same label does not."""
    told("--reference", second, typed="")
    newer = SECOND.replace("Wage ledger", "Pay ledger")
    second.write_text(newer, encoding="utf-8")
    result = told("--reference", second, typed="")
    assert result.exit_code == ReferenceFaultsError.exit_code
    assert "a label that no other edition has" in result.stderr
    second.write_text(newer.replace('"2026-04"', '"2026-05"'), encoding="utf-8")
    assert told("--reference", second, typed="").exit_code == 0
    own = data / "references"
    assert "2026-05" in (own / "loom-two.toml").read_text(encoding="utf-8")
    assert sorted(path.name for path in own.iterdir()) == ["loom-one.toml", "loom-two.toml"]


def test_reference_with_pictures(data: Path) -> None:
    """A folder is carried with its pictures, and with nothing else that lies in it."""
    folder = paths.DEMO / "references" / "hobbinsley-poplin"
    assert told("--reference", folder, typed="").exit_code == 0
    carried = {path.name for path in (data / "references" / "hobbinsley-poplin").iterdir()}
    assert "hobbinsley-poplin.toml" in carried
    assert carried - {"hobbinsley-poplin.toml"} <= {path.name for path in folder.iterdir()}


def test_faulty_reference(tmp_path: Path, data: Path) -> None:
    """A reference with faults stops everything, with its faults."""
    (tmp_path / "bad.toml").write_text("format = 1", encoding="utf-8")
    result = told(*WHOLE, "--reference", tmp_path / "bad.toml")
    assert result.exit_code == ReferenceFaultsError.exit_code
    assert standing(data)["show"] is None


def _breaks(*_given: object, **_more: object) -> None:
    raise KeyboardInterrupt


@pytest.mark.parametrize("place", ["put", "key", "secret", "commit"])
def test_nothing_half_done(
    data: Path, second: Path, place: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Wherever it is cut off, book, keys and references are as they were; then it can be done."""
    newer = SECOND.replace('"loom-two"', '"loom-one"').replace('"2026-04"', '"2026-05"')
    second.write_text(newer, encoding="utf-8")
    own, keys = data / "references", KeyFiles(data / "keys")
    before = (own / "loom-one.toml").read_bytes()
    wanted = Wanted(
        "Fair",
        "2026-04-11",
        "2026-04-12",
        "https://x.example",
        SECRET,
        PIN,
        "Pegbox",
        (second,),
    )
    with open_store(data / "book.sqlite3") as store:
        empty = standing_of(store, keys, own)
        plan = plan_of(wanted, empty, own)
        with monkeypatch.context() as broken:
            _break(broken, place, store)
            with pytest.raises(KeyboardInterrupt):
                carry_out(plan, store, keys=keys, own=own, now=NOW)
        assert standing_of(store, keys, own) == empty
        assert store.keys.list() == ()
        assert list((data / "keys").glob("*")) == []
        assert [path.name for path in own.iterdir()] == ["loom-one.toml"]
        assert (own / "loom-one.toml").read_bytes() == before
        carry_out(plan, store, keys=keys, own=own, now=NOW)
        assert standing_of(store, keys, own).missing == ()


def _break(broken: pytest.MonkeyPatch, place: str, store: Store) -> None:
    if place == "put":
        broken.setattr(store.show, "put", _breaks)
    elif place == "key":
        broken.setattr(setting_up, "make_key", _breaks)
    elif place == "secret":
        broken.setattr(store.access, "set_up", _breaks)
    else:
        after = store.access.set_up

        def then_break(*given: Any) -> None:
            after(*given)
            raise KeyboardInterrupt

        broken.setattr(store.access, "set_up", then_break)


def test_folder_that_can_not_be_written(data: Path, second: Path) -> None:
    """A references folder that is a file is told, and the show is not set either."""
    (data / "references" / "loom-one.toml").unlink()
    (data / "references").rmdir()
    (data / "references").write_text("", encoding="utf-8")
    result = told(*WHOLE, "--reference", second)
    assert result.exit_code == SetupError.exit_code
    assert "a folder of references that can be written" in result.stderr


def test_name_that_is_taken(data: Path, second: Path) -> None:
    """Where something else has the file's name it is left alone."""
    (data / "references" / "loom-two.toml").write_text("format = 1", encoding="utf-8")
    result = told("--reference", second, typed="")
    assert "something else has that name" in result.stderr
    assert (data / "references" / "loom-two.toml").read_text(encoding="utf-8") == "format = 1"
