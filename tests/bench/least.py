"""The least page that does the same: what this machine and its browser take for it.

One button, one sheet of styles, one script and one record out of the database, all from a worker's
cache while the server is dead. What the app takes above that is the app's; the rest is not.
"""

import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import Any

import waitress
from playwright.sync_api import BrowserContext

from tests.kit import free_port

WORKER = """
const files = ['/', '/a.css', '/a.js'];
addEventListener('install', (event) => event.waitUntil(
  caches.open('least').then((cache) => cache.addAll(files)).then(() => skipWaiting())));
addEventListener('activate', (event) => event.waitUntil(clients.claim()));
addEventListener('fetch', (event) => event.respondWith(
  caches.match(event.request).then((kept) => kept ?? fetch(event.request))));
"""
PAGE = """<!doctype html><html lang="en"><head><meta charset="utf-8"><title>The least</title>
<meta name="viewport" content="width=device-width"><link rel="stylesheet" href="/a.css">
<script type="module" src="/a.js"></script></head>
<body><label><input type="checkbox"> One</label><p id="strip"></p></body></html>
"""
SCRIPT = """
navigator.serviceWorker.register('/sw.js');
const opening = indexedDB.open('least', 1);
opening.onupgradeneeded = () => opening.result.createObjectStore('kept');
opening.onsuccess = () => {
  const read = opening.result.transaction('kept').objectStore('kept').get(1);
  read.onsuccess = () => {
    const strip = document.querySelector('#strip');
    document.querySelector('input').addEventListener('change', (event) => {
      strip.dataset.verdict = strip.textContent = String(event.target.checked);
    });
    document.documentElement.dataset.ready = '1';
  };
};
"""
STYLES = "label { display: block; padding: 1rem; font-size: 1.5rem }"
FILES = {
    "/": ("text/html", PAGE),
    "/a.css": ("text/css", STYLES),
    "/a.js": ("text/javascript", SCRIPT),
    "/sw.js": ("text/javascript", WORKER),
}


def _app(environ: dict[str, Any], start: Callable[..., Any]) -> Iterable[bytes]:
    kind, text = FILES.get(environ["PATH_INFO"], ("text/plain", ""))
    body = text.encode()
    start("200 OK", [("Content-Type", kind), ("Content-Length", str(len(body)))])
    return [body]


@contextmanager
def served() -> Iterator[str]:
    """Serve the least page and give its address; after that the server is dead."""
    port = free_port()
    server = waitress.create_server(_app, host="127.0.0.1", port=port)
    threading.Thread(target=server.run, daemon=True).start()
    try:
        yield f"http://localhost:{port}/"
    finally:
        server.close()


def visited(context: BrowserContext, address: str) -> None:
    """Open the page until its worker holds it."""
    page = context.new_page()
    page.goto(address)
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.close()
