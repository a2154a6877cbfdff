"""Numbers and short texts as bits, most significant first: one way to write each, or none.

A writer refuses what does not fit its width, a reader refuses to go past the end; both name the
field. Nothing here knows what a card is.
"""

from collections.abc import Sequence
from typing import Final, TypeVar

from quickcheck.errors import CardError, shown

Choice = TypeVar("Choice")

NIBBLES: Final = "0123456789- ./?"
"""What most serials and date codes are made of: 4 bits each, and `_END` after the last. A
question mark stands for a sign that can't be read."""
LETTERS: Final = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ -./?"
"""6 bits each; `_SMALL` before a letter makes it a small one."""
LONGEST_TEXT: Final = 16
_END: Final = 15
_SMALL: Final = len(LETTERS)
_LENGTH_BITS: Final = LONGEST_TEXT.bit_length()


def width_for(count: int) -> int:
    """Return how many bits tell ``count`` choices apart (0 for one choice)."""
    return (count - 1).bit_length()


def unreadable(where: str, *, expected: str, came: str) -> CardError:
    """Return the error for bytes that are not a card of ours; typing can't mend them."""
    return CardError.of(
        where, expected=expected, came=came, remedy="Scan the code again, or ask for a new card."
    )


def number_of(choice: Choice, choices: Sequence[Choice], *, where: str) -> int:
    """Return the number of a choice in its table."""
    if choice not in choices:
        raise CardError.of(
            where,
            expected=f"one of {len(choices)} choices: {', '.join(map(str, choices))}",
            came=shown(choice),
            remedy="Choose one of these; the card carries nothing else here.",
        )
    return choices.index(choice)


def choice(choices: Sequence[Choice], number: int, *, where: str) -> Choice:
    """Return the choice that a number stands for."""
    if number >= len(choices):
        raise unreadable(where, expected=f"a number below {len(choices)}", came=f"{number}")
    return choices[number]


class BitWriter:
    """Collects numbers, each in its own width; `data` pads with zeros to whole bytes."""

    def __init__(self) -> None:
        self._value = 0
        self.length = 0  # bits written

    def put(self, value: int, width: int, *, where: str) -> None:
        """Append a number of 0 to 2**width − 1."""
        if not 0 <= value < 1 << width:
            raise CardError.of(
                where,
                expected=f"a whole number from 0 to {(1 << width) - 1}",
                came=shown(value),
                remedy="The card has no room for more: leave it out or correct it.",
            )
        self._value = self._value << width | value
        self.length += width

    def put_choice(
        self, choice: Choice, choices: Sequence[Choice], width: int, *, where: str
    ) -> None:
        """Append the number of a choice in its table."""
        self.put(number_of(choice, choices, where=where), width, where=where)

    def put_flags(self, flags: Sequence[bool], *, where: str) -> None:
        """Append one bit a flag, in order."""
        for flag in flags:
            self.put(int(flag), 1, where=where)

    def put_text(self, text: str, *, where: str) -> None:
        """Append a text of at most 16 characters.

        Digits and separators take 4 bits each and an end mark, anything else of the alphabet 6
        bits each after a count; a leading bit says which. Only the first way is ever used where
        it serves, so that a text has one form.
        """
        if set(text) <= set(NIBBLES) and len(text) <= LONGEST_TEXT:
            self.put(0, 1, where=where)
            for character in text:
                self.put(NIBBLES.index(character), 4, where=where)
            self.put(_END, 4, where=where)
            return
        if not set(text) <= set(LETTERS + LETTERS.lower()) or len(text) > LONGEST_TEXT:
            raise CardError.of(
                where,
                expected=f"at most {LONGEST_TEXT} letters A-Z, digits, spaces and - . / ?",
                came=shown(text),
                remedy="Write it shorter or with these characters only.",
            )
        self.put(1, 1, where=where)
        self.put(len(text), _LENGTH_BITS, where=where)
        for character in text:
            if character not in LETTERS:
                self.put(_SMALL, 6, where=where)
            self.put(LETTERS.index(character.upper()), 6, where=where)

    def bits(self) -> tuple[int, int]:
        """Return what was written as one number, and how many bits it has."""
        return self._value, self.length

    def data(self) -> bytes:
        """Return the bytes, the last one filled with zeros."""
        padding = -self.length % 8
        return (self._value << padding).to_bytes((self.length + padding) // 8, "big")


class BitReader:
    """Takes the numbers back in the order in which they were written."""

    def __init__(self, data: bytes) -> None:
        self._value = int.from_bytes(data, "big")
        self._left = 8 * len(data)
        self.length = 0  # bits read

    def take(self, width: int, *, where: str) -> int:
        """Return the next number; refuse to read past the end."""
        if width > self._left:
            raise unreadable(where, expected=f"{width} more bits", came=f"{self._left}")
        self._left -= width
        self.length += width
        return self._value >> self._left & (1 << width) - 1

    def take_choice(self, choices: Sequence[Choice], width: int, *, where: str) -> Choice:
        """Return the choice that the next number stands for."""
        return choice(choices, self.take(width, where=where), where=where)

    def take_flags(self, count: int, *, where: str) -> tuple[bool, ...]:
        """Return the next flags, one bit each."""
        return tuple(bool(self.take(1, where=where)) for _ in range(count))

    def take_text(self, *, where: str) -> str:
        """Return the next text."""
        return self._letters(where) if self.take(1, where=where) else self._nibbles(where)

    def _nibbles(self, where: str) -> str:
        text = ""
        while (number := self.take(4, where=where)) != _END:
            text += NIBBLES[number]
        return text

    def _letters(self, where: str) -> str:
        text = ""
        for _ in range(self.take(_LENGTH_BITS, where=where)):
            number = self.take(6, where=where)
            if number == _SMALL:
                text += self.take_choice(LETTERS, 6, where=where).lower()
            else:
                text += choice(LETTERS, number, where=where)
        return text
