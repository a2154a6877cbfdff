"""Ed25519 verification written from the text of RFC 8032 (5.1), with nothing but whole numbers.

Slow and open to timing; it only has to agree with the library.
"""

from hashlib import sha512

P = 2**255 - 19
ORDER = 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, -1, P) % P
Point = tuple[int, int]


def add(one: Point, other: Point) -> Point:
    """Return the sum of two points of the curve -x² + y² = 1 + d x² y²."""
    (x1, y1), (x2, y2) = one, other
    product = D * x1 * x2 * y1 * y2 % P
    x = (x1 * y2 + x2 * y1) * pow(1 + product, -1, P)
    y = (y1 * y2 + x1 * x2) * pow(1 - product, -1, P)
    return x % P, y % P


def times(factor: int, point: Point) -> Point:
    """Return a point added to itself so many times."""
    result = (0, 1)
    while factor:
        if factor & 1:
            result = add(result, point)
        point, factor = add(point, point), factor >> 1
    return result


def recover(y: int, sign: int) -> Point | None:
    """Return the point with this y, x even or odd (5.1.3); None if there is none."""
    square = (y * y - 1) * pow(D * y * y + 1, -1, P) % P
    x = pow(square, (P + 3) // 8, P)
    if (x * x - square) % P:
        x = x * pow(2, (P - 1) // 4, P) % P
    if y >= P or (x * x - square) % P or (not x and sign):
        return None
    return (P - x if x & 1 != sign else x), y


BASE = recover(4 * pow(5, -1, P) % P, 0)


def decoded(data: bytes) -> Point | None:
    """Return the point of 32 bytes (5.1.3)."""
    number = int.from_bytes(data, "little")
    return recover(number & (1 << 255) - 1, number >> 255)


def verifies(public: bytes, message: bytes, signature: bytes) -> bool:
    """Whether a signature is that of a public key (5.1.7), without the cofactor."""
    key, point = decoded(public), decoded(signature[:32])
    scalar = int.from_bytes(signature[32:], "little")
    if key is None or point is None or scalar >= ORDER or len(signature) != 64:
        return False
    digest = sha512(signature[:32] + public + message).digest()
    challenge = int.from_bytes(digest, "little") % ORDER
    assert BASE
    return times(scalar, BASE) == add(point, times(challenge, key))
