"""A line to a browser in WebDriver BiDi (https://www.w3.org/TR/webdriver-bidi/): commands, replies."""

import json
from itertools import count
from typing import Any

from websocket import WebSocket, WebSocketException, create_connection

from tests.engines.engine import EngineError


class Line:
    """One session. What the browser says unasked is not listened to."""

    def __init__(self, address: str, *, patience: float) -> None:
        self._numbers = count(1)
        try:
            # with an Origin it would take us for a page
            made = create_connection(address, timeout=patience, suppress_origin=True)
        except (WebSocketException, OSError) as error:
            raise EngineError(f"no line to {address}: {error}") from error
        self._socket: WebSocket = made
        self.capabilities: dict[str, Any] = self.ask("session.new", capabilities={})["capabilities"]

    def ask(self, method: str, **parameters: Any) -> dict[str, Any]:
        """Send a command and wait for its reply; EngineError where it was refused or none came."""
        number = next(self._numbers)
        message = {"id": number, "method": method, "params": parameters}
        try:
            self._socket.send(json.dumps(message))
            reply: dict[str, Any] = {}
            while reply.get("id") != number:
                reply = json.loads(self._socket.recv())
        except (WebSocketException, OSError, ValueError) as error:
            raise EngineError(f"no reply to {method}: {error}") from error
        if reply["type"] != "success":
            raise EngineError(f"{method}: {reply['error']}: {reply['message']}")
        result: dict[str, Any] = reply["result"]
        return result

    def close(self) -> None:
        """Hang up."""
        self._socket.close()
