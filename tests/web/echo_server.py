"""A server with our doors before an application that says what it was told: see `doors.py`.

``python -m tests.web.echo_server '{"port": 8000, ...}'`` prints ``open`` once its ports are its own.
"""

import json
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from quickcheck.desk import Doors, Lan, Proxy, Tls
from quickcheck.web.serving import opened

TOLD = ("REMOTE_ADDR", "HTTP_HOST", "wsgi.url_scheme", "REQUEST_METHOD", "PATH_INFO")


def echo(environ: dict[str, Any], start: Any) -> Iterable[bytes]:
    """Answer with what a request looks like from inside."""
    told = {name: environ.get(name) for name in TOLD}
    told |= {name: value for name, value in environ.items() if "FORWARD" in name}
    told["bytes"] = len(environ["wsgi.input"].read())
    body = json.dumps(told).encode()
    start("200 OK", [("Content-Type", "application/json"), ("Content-Length", str(len(body)))])
    return [body]


def doors(said: dict[str, Any]) -> Doors:
    """Return the doors that plain data describes."""
    lan = None
    if "lan" in said:
        address, port, *files = said["lan"]
        tls = Tls(Path(files[0]), Path(files[1]), ("localhost",)) if files else None
        lan = Lan(address, port, tls)
    proxy = Proxy(*said["proxy"]) if "proxy" in said else None
    return Doors(said["port"], lan, proxy, "https://cards.example" if proxy else "")


if __name__ == "__main__":
    with opened(echo, doors(json.loads(sys.argv[1]))) as server:
        print("open", flush=True)
        server.run()
