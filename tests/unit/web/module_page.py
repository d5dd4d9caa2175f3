"""A page of nothing but one module, served from this process under the workroom's own strict policy."""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from html import escape
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

STATIC = Path(__file__).resolve().parents[3] / "src" / "squab" / "web" / "static"
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; "
    "font-src 'self'"
)
_TYPES = {".js": "text/javascript", ".css": "text/css", ".txt": "text/plain"}


def page_html(body: str) -> str:
    """A whole page around a module's element."""
    return (
        '<!doctype html><html lang="en-GB"><head><meta charset="utf-8"><title>One module</title>'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        '<link rel="stylesheet" href="/static/workroom.css">'
        '<script type="module" src="/static/bundle/workroom.js"></script></head>'
        f"<body><main>{body}</main></body></html>"
    )


def element(kind: str, source: str, inner: str = "", **attributes: str) -> str:
    """The element of a module, as a page writes it."""
    more = "".join(f' {k.replace("_", "-")}="{escape(v)}"' for k, v in attributes.items())
    return f'<section data-module="{kind}" data-source="{source}"{more}>{inner}</section>'


@contextmanager
def served(pages: Mapping[str, str], data: Mapping[str, Any]) -> Iterator[str]:
    """Serve pages and JSON by their paths, and the workroom's static files; give the address."""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            path = self.path.partition("?")[0]
            if path in pages:
                self._answer(pages[path].encode(), "text/html; charset=utf-8")
            elif path in data:
                self._answer(json.dumps(data[path]).encode(), "application/json")
            elif path.startswith("/static/") and (file := STATIC / path.removeprefix("/static/")).is_file():
                self._answer(file.read_bytes(), _TYPES.get(file.suffix, "application/octet-stream"))
            else:
                self.send_error(404)

        def _answer(self, body: bytes, kind: str) -> None:
            self.send_response(200)
            self.send_header("Content-Type", kind)
            self.send_header("Content-Security-Policy", POLICY)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, format: str, *args: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{server.server_address[1]}"
    finally:
        server.shutdown()
        server.server_close()
