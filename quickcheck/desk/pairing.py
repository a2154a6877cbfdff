"""Addresses of codes that pair a device."""

CODE_GROUP = 5


def pair_address(base: str, code: str) -> str:
    """Return the address that a code's symbol holds, for a base like ``https://show.example``."""
    return f"{base.rstrip('/')}/pair/{code}"


def code_words(code: str) -> str:
    """Return a code as a person types it: capitals in groups, "4XABP-ZC8MP-…"."""
    groups = [code[at : at + CODE_GROUP] for at in range(0, len(code), CODE_GROUP)]
    return "-".join(groups).upper()
