"""Who may ask the bench: only a page that came from it, on this machine, with the token in its address.

A page of another origin in the same browser can send requests to any port of this machine. It can read no answer, and
does not know the token; Host, Origin and what the browser says of a request's site are held against the bench's own
besides, so that a name that leads here from outside (DNS) opens nothing either.
"""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Mapping
from typing import Any

HOSTS = ("127.0.0.1", "localhost")
CLOSED = "This page is open only by the address that the bench printed in its terminal when it was started."
HEADERS = (
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "same-origin"),
    ("Cache-Control", "no-store"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
    ("Cross-Origin-Opener-Policy", "same-origin"),
    ("Content-Security-Policy",
     "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:; connect-src 'self'; "
     "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"),
)  # fmt: skip


def new_token() -> str:
    """A token that nobody guesses: 192 random bits."""
    return secrets.token_urlsafe(24)


def refusal(environ: Mapping[str, Any], token: str, port: int) -> str:
    """Why a request is refused, in a few words for the log of a developer; "": it is let in."""
    host = environ.get("HTTP_HOST", "")
    own = {f"{name}:{port}" for name in HOSTS}
    if host not in own:
        return "another host"
    if environ.get("HTTP_SEC_FETCH_SITE", "none") not in ("same-origin", "none"):
        return "another site"
    origin = environ.get("HTTP_ORIGIN")
    if origin is not None and origin != f"http://{host}":
        return "another origin"
    if environ["REQUEST_METHOD"] == "POST" and origin is None:
        return "no origin"
    parts = environ.get("PATH_INFO", "").split("/")
    if len(parts) < 3 or not hmac.compare_digest(parts[1].encode("utf-8", "replace"), token.encode()):
        return "no token"
    return ""
