"""The web shell: reads requests, asks the desk, shows what comes back."""

from quickcheck.web.app import create_app
from quickcheck.web.context import Settings
from quickcheck.web.serving import serve_app

__all__ = ["Settings", "create_app", "serve_app"]
