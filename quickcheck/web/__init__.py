"""The web shell: reads requests, asks the desk, shows what comes back."""

from quickcheck.web.app import Settings, create_app

__all__ = ["Settings", "create_app"]
