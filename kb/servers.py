"""Settings for web hosts that serve a published site: what may be kept how long, types, policy.

Any host that serves plain files will do. Told these things, it also lets browsers keep what never
changes, asks anew for pages, hands out the copies of `kb.squeezing`, and holds pages to a policy.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import SplitResult, unquote, urlsplit

from kb.errors import KbError

HOUSE_TABLE = "reference/house.yaml"


@dataclass(frozen=True, slots=True)
class Kind:
    """A sort of host: the template of its settings, and a line on where they go."""

    template: str
    help: str


KINDS: Mapping[str, Kind] = {
    "nginx": Kind("nginx.conf", "a file for /etc/nginx/conf.d"),
    "apache": Kind("apache.conf", "a file for /etc/apache2/sites-available"),
    "caddy": Kind("Caddyfile", "a part of /etc/caddy/Caddyfile"),
    "headers": Kind("_headers", "the file _headers, for hosts of static sites that read it"),
}

# Content Security Policy, level 3 (W3C). What pages say of themselves, and who may frame them,
# which a page cannot say of itself.
POLICY = (
    "default-src 'none'; style-src 'self'; img-src 'self' data:; script-src 'self'; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'"
)
DRAWING_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; frame-ancestors 'none'; "
    "sandbox"
)
# The camera reads rating plates; the rest is asked for nowhere.
HEADERS = (
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "no-referrer"),
    ("Permissions-Policy", "camera=(self), microphone=(), geolocation=(), payment=(), usb=()"),
)
FRESH, FOREVER = "no-cache", "public, max-age=31536000, immutable"
LASTING = r"/(?:assets/[^/]+|data/[0-9a-f]{10}\.bin|bulletins/[^/]+/[^/]+\.[0-9a-f]{8}\.[a-z]+)$"
TYPES = (
    ("text/html", ("html",)),
    ("text/css", ("css",)),
    ("text/javascript", ("js",)),
    ("application/json", ("json",)),
    ("application/xml", ("xml",)),
    ("application/manifest+json", ("webmanifest",)),
    ("application/octet-stream", ("bin",)),
    ("text/plain", ("txt",)),
    ("text/csv", ("csv",)),
    ("image/svg+xml", ("svg",)),
    ("image/png", ("png",)),
    ("image/jpeg", ("jpg", "jpeg")),
    ("image/webp", ("webp",)),
    ("image/gif", ("gif",)),
    ("image/x-icon", ("ico",)),
    ("application/pdf", ("pdf",)),
)
_IN_UTF8 = frozenset({"html", "css", "js", "xml", "txt", "csv"})
# Characters that mean themselves in the settings of every host, between quotes and without.
_QUOTED = re.compile(r"[^\x00-\x1f\x7f\"'`\\$%{}<>]+")
_BARE = re.compile(r"[\w./:@~+-]+")


def site_of(house: Path) -> str:
    """Return the address that house.yaml gives the site; "" for none. Nothing else is read."""
    from kb.faults import Faults
    from kb.plainfile import decode
    from kb.reference import read_house_table

    faults = Faults(HOUSE_TABLE)
    site = read_house_table(decode((house / HOUSE_TABLE).read_bytes(), faults), faults)["site"]
    if faults.errors:
        first = faults.problems[0]
        raise KbError(f"{first.file}:{first.line}: {first.message}", first.remedy)
    return str(site)


def config(kind: str, out: Path, site: str) -> str:
    """Return the settings for a host of this *kind* that serves the folder *out* as *site*.

    *site* is the address in house.yaml; "" stands for the top of whatever host it is.
    """
    from kb.pages.page import Page
    from kb.render import Renderer

    address = _address(site)
    under = f"{unquote(address.path).rstrip('/')}/"
    folder = out.resolve().as_posix()
    _refuse(_QUOTED, folder, "publish into a folder with a plainer name")
    _refuse(_BARE, address.netloc + under, "give the site a plainer address in house.yaml")
    data = {
        "host": address.hostname or "",
        "port": _port(address),
        "address": _server(address),
        "under": under,
        "place": re.escape(under),
        "folder": folder,
        **_settings(),
    }
    page = Page("", f"servers/{KINDS[kind].template}", {k: _as_it_is(v) for k, v in data.items()})
    return Renderer().text(page)


def _address(site: str) -> SplitResult:
    try:
        address = urlsplit(site)
        _ = address.port
    except ValueError as error:
        raise KbError(
            f"“{site}” is no web address: {error}", "correct the site in house.yaml"
        ) from error
    return address


def _port(address: SplitResult) -> int:
    """Return where plain http is answered; where https is, the host's certificates decide."""
    return address.port or 80 if address.scheme != "https" else 80


def _server(address: SplitResult) -> str:
    """Return the address as Caddy wants it: without a path, and https goes without saying."""
    return f"{'http://' if address.scheme == 'http' else ''}{address.netloc}" or ":80"


def _refuse(sound: re.Pattern[str], text: str, remedy: str) -> None:
    strange = sound.sub("", text)
    if strange:
        raise KbError(f"“{text}” holds {strange[0]!r}, which settings of hosts cannot", remedy)


def _settings() -> dict[str, Any]:
    from kb.pages.assets import FILES
    from kb.squeezing import SUFFIXES

    in_utf8 = [type for type, suffixes in TYPES if _IN_UTF8 & set(suffixes)]
    # nginx packs text/html anyway, and complains when it is told to.
    packed = [type for type, suffixes in TYPES[1:] if f".{suffixes[0]}" in SUFFIXES]
    return {
        "policy": POLICY,
        "drawing_policy": DRAWING_POLICY,
        "policy_with_drawings": POLICY.replace("style-src", "style-src 'unsafe-inline'"),
        "headers": HEADERS,
        "fresh": FRESH,
        "forever": FOREVER,
        "lasting": LASTING,
        "lasting_patterns": ("assets/*", "data/*.bin", *(f"bulletins/*{each}" for each in FILES)),
        "types": TYPES,
        "charset_types": in_utf8,
        "charset_suffixes": sorted(_IN_UTF8),
        "packed_types": packed,
        "packed": f"(?:{'|'.join(suffix[1:] for suffix in SUFFIXES)})",
    }


def _as_it_is(value: Any) -> Any:
    """Mark text as not to be escaped: settings are no HTML."""
    from markupsafe import Markup

    if isinstance(value, str):
        return Markup(value)
    return tuple(map(_as_it_is, value)) if isinstance(value, (tuple, list)) else value
