"""Reading plain data field by field: each refusal names the field, all are told at once."""

import difflib
import math
from collections.abc import Mapping, Sequence
from types import TracebackType
from typing import Self, cast

from quickcheck.engine.constants import r9
from quickcheck.errors import AnswerError, Fault, QuickcheckError, ReadingError, shown


class Gather:
    """Collects the faults of each ``with`` block and goes on, so that all are told at once."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, _: TracebackType | None
    ) -> bool:
        if isinstance(error, AnswerError | ReadingError):
            self.faults.extend(cast(QuickcheckError, error).faults)
            return True
        return False

    def check(self) -> None:
        """Raise what was collected, if anything was."""
        if self.faults:
            raise AnswerError(*self.faults)


def given_of(mapping: Mapping[str, object], *keys: str) -> list[str]:
    """Return those of the keys that hold something; null counts as left out."""
    return [key for key in keys if mapping.get(key) is not None]


def mapping(value: object, where: str, *, like: str = '{"seen": "…"}') -> Mapping[str, object]:
    """Return a value that must be an object; ``like`` is shown as an example of one."""
    if not isinstance(value, Mapping):
        raise AnswerError.of(
            where,
            expected="named fields",
            came=shown(value),
            remedy=f"Write an object such as {like}.",
        )
    return value


def only_known(given: Mapping[str, object], known: Sequence[str], *, where: str) -> None:
    """Refuse every key that is not known: a misspelt one would change the verdict unheard."""
    unknown = [key for key in given if key not in known]
    if unknown:
        raise AnswerError(*(_unknown(key, known, where=where) for key in unknown))


def _unknown(key: str, known: Sequence[str], *, where: str) -> Fault:
    near = difflib.get_close_matches(key, known, n=1)
    remedy = f'Did you mean "{near[0]}"?' if near else "Take it out."
    return Fault(f"{where}.{key}", "one of " + ", ".join(known), shown(key), remedy)


def typed(mapping: Mapping[str, object], key: str, default: object, *, where: str) -> object:
    """Return a field that must have the type of its default."""
    value = mapping.get(key)
    if value is None:
        return default
    if type(value) is not type(default):
        expected = {bool: "true or false", str: "text", list: "a list"}[type(default)]
        raise AnswerError.of(
            where, expected=expected, came=shown(value), remedy="Write it so, or leave it out."
        )
    return value


def texts(mapping: Mapping[str, object], key: str, *, where: str) -> tuple[str, ...]:
    """Return a list of texts, empty where it is left out."""
    values = cast(list[object], typed(mapping, key, [], where=where))
    for value in values:
        if not isinstance(value, str):
            raise AnswerError.of(
                where, expected="a list of texts", came=shown(value), remedy="Put it in quotes."
            )
    return tuple(cast(list[str], values))


def one_of(value: object, allowed: Sequence[str], *, where: str) -> str:
    """Return a text that must be one of those allowed."""
    if value not in allowed:
        raise AnswerError.of(
            where,
            expected="one of " + ", ".join(allowed),
            came=shown(value),
            remedy="Choose one of these.",
        )
    return cast(str, value)


def finite(value: object, *, where: str) -> float:
    """Return a number that is neither infinite nor "not a number"."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise _not_finite(shown(value), where=where)
    try:
        size = float(value)
    except OverflowError:  # a whole number of JSON may have any length
        size = math.inf if value > 0 else -math.inf
    if not math.isfinite(size):
        raise _not_finite(shown(size), where=where)
    return size


def _not_finite(came: str, *, where: str) -> AnswerError:
    return AnswerError.of(where, expected="a finite number", came=came, remedy="Write a number.")


def digits(value: float) -> str:
    """Return a number with all the digits that comparisons go by, 9 decimals."""
    return repr(r9(value) + 0.0).removesuffix(".0")
