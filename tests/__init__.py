"""A package, so that no other distribution's `tests` is taken for it."""
