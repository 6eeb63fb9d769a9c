"""Serves the chat page: a handful of files, with a policy that lets nothing else in."""

from __future__ import annotations

from pathlib import Path

from aiohttp import web

__all__ = ["FILES", "add_page"]

_FOLDER = Path(__file__).parent / "page"
FILES = {
    "/": ("index.html", "text/html"),
    "/style.css": ("style.css", "text/css"),
    "/script.js": ("script.js", "text/javascript"),
    "/entries.js": ("entries.js", "text/javascript"),
    "/understood.js": ("understood.js", "text/javascript"),
    "/room.js": ("room.js", "text/javascript"),
}
"""Path -> file and its kind."""

_HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self';"
        " base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-cache",
}


def add_page(app: web.Application) -> None:
    """Put the page's files into a web application."""
    for path in FILES:
        app.router.add_get(path, _file)


async def _file(request: web.Request) -> web.Response:
    name, kind = FILES[request.path]
    content = (_FOLDER / name).read_bytes()
    return web.Response(body=content, content_type=kind, charset="utf-8", headers=_HEADERS)
