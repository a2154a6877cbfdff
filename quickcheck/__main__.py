"""The program: the command line, with the web app to serve.

The one place that knows both shells; ``python -m quickcheck`` and the ``quickcheck`` command.
"""

from quickcheck.cli import main
from quickcheck.web import serve_app


def start() -> None:
    """Run the command line."""
    main(obj=serve_app)


if __name__ == "__main__":
    start()
