"""Run in a process of its own: learn what came on standard input, tell how far on output.

Learning takes the interpreter for seconds at a time; in the server's own process every answer would
wait for it. What comes is `Order` as the server pickled it; a line of JSON goes out for each per
cent that is done, and one with what was learned or what is wrong. It ends when nobody listens.
"""

import json
import os
import pickle
import sys
from dataclasses import asdict
from functools import partial
from typing import Any, Final

from quickcheck.desk.learning import learn_from, points_in
from quickcheck.desk.workshop import Order
from quickcheck.errors import QuickcheckError
from quickcheck.learn import Tell

_MEMORY: Final = 3 * 1024**3  # of addresses; it takes a tenth of that
_SECONDS: Final = 900  # of a processor
_NICE: Final = 10


def _limit() -> None:
    if sys.platform == "win32":  # there, only the caller's time-out ends it
        return
    import resource  # noqa: PLC0415

    os.nice(_NICE)
    resource.setrlimit(resource.RLIMIT_AS, (_MEMORY, _MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (_SECONDS, _SECONDS))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _say(out: Any, told: dict[str, Any]) -> None:
    out.write(json.dumps(told) + "\n")
    out.flush()


class _Teller:
    """Tells each per cent once."""

    def __init__(self, out: Any) -> None:
        self._say = partial(_say, out)
        self._last = -1

    def __call__(self, share: float) -> None:
        if (now := int(100 * share)) != self._last:
            self._last = now
            self._say({"share": share})


def main() -> int:
    """Do it."""
    _limit()
    order: Order = pickle.loads(sys.stdin.buffer.read())  # noqa: S301  # our own server made it
    out = sys.stdout
    try:
        told = _learned(order, _Teller(out))
        _say(out, told)
    except BrokenPipeError:  # the server is gone
        os._exit(1)
    return 0


def _learned(order: Order, tell: Tell) -> dict[str, Any]:
    try:
        file = points_in(order.text, name=order.name, pictures=order.pictures)
        lesson = learn_from(file, order.table, leave_out_faulty=True, tell=tell)
    except QuickcheckError as error:
        return {"faults": [asdict(fault) for fault in error.faults]}
    return {"text": lesson.text, "told": lesson.told, "report": lesson.report}


if __name__ == "__main__":
    sys.exit(main())
