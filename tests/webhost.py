"""Real web servers for tests: each is started on a free port with the settings that kb gives it."""

from __future__ import annotations

import http.client
import os
import shutil
import socket
import subprocess
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

import pytest

from kb.servers import config

_NGINX = """\
daemon off;
master_process off;
pid {aside}/nginx.pid;
error_log {aside}/error.log;
{modules}
events {{}}
http {{
    access_log off;
    client_body_temp_path {aside}/a;
    proxy_temp_path {aside}/b;
    fastcgi_temp_path {aside}/c;
    uwsgi_temp_path {aside}/d;
    scgi_temp_path {aside}/e;
    include {aside}/site.conf;
}}
"""
_APACHE = """\
ServerRoot {aside}
ServerName 127.0.0.1
PidFile {aside}/apache.pid
ErrorLog {aside}/error.log
Listen 127.0.0.1:{port}
{modules}
TypesConfig /dev/null
# What distributions set for every site, and what these settings have to hold their own against.
AddType application/x-gzip .gz .tgz
AddLanguage br .br
AddOutputFilterByType DEFLATE text/html text/plain text/xml text/css text/javascript application/xml
<Directory />
    Require all denied
</Directory>
Include {aside}/site.conf
"""
_APACHE_MODULES = (
    "mpm_event", "authz_core", "mime", "dir", "alias", "headers", "rewrite", "filter", "deflate",
)  # fmt: skip


@dataclass(frozen=True)
class Answer:
    """What a server answered: the status, the headers by lower-case name, the bytes as sent."""

    status: int
    headers: Mapping[str, list[str]]
    body: bytes

    def the(self, name: str) -> str:
        """Return the one header of this name; "" where there is none."""
        found = self.headers.get(name, [])
        assert len(found) <= 1, f"{name} stands {len(found)} times: {found}"
        return found[0] if found else ""


@dataclass(frozen=True)
class Host:
    """A running server with a site below the path *under*."""

    kind: str
    port: int
    under: str
    folder: Path

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}{self.under}"

    def get(self, path: str, method: str = "GET", **headers: str) -> Answer:
        """Ask for a path below the site, as it is: redirects are not followed, nothing unpacked."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        connection.request(method, self.under + quote(path, safe="/?=&%"), headers=named)
        reply = connection.getresponse()
        found: dict[str, list[str]] = {}
        for name, value in reply.getheaders():
            found.setdefault(name.lower(), []).append(value)
        answer = Answer(reply.status, found, reply.read())
        connection.close()
        return answer


def _nginx(aside: Path, port: int) -> list[str]:
    site = aside / "site.conf"
    text = site.read_text("utf-8")
    module = _brotli_module()
    if module:
        text = text.replace("# brotli_static on;", "brotli_static on;")
    if not _has_ipv6():
        text = text.replace(f"    listen [::]:{port};\n", "")
    site.write_text(text, "utf-8")
    modules = f"load_module {module};" if module else ""
    main = aside / "nginx.conf"
    main.write_text(_NGINX.format(aside=aside, modules=modules), "utf-8")
    return [found("nginx"), "-e", str(aside / "error.log"), "-p", str(aside), "-c", str(main)]


def _brotli_module() -> Path | None:
    command = [found("nginx"), "-V"]
    told = subprocess.run(command, capture_output=True, text=True, check=True).stderr
    places = [word[len("--modules-path=") :] for word in told.split() if "--modules-path=" in word]
    modules = [Path(place) / "ngx_http_brotli_static_module.so" for place in places]
    return next((module for module in modules if module.is_file()), None)


def _has_ipv6() -> bool:
    try:
        with socket.socket(socket.AF_INET6) as there:
            there.bind(("::1", 0))
    except OSError:
        return False
    return True


def _apache(aside: Path, port: int) -> list[str]:
    program = found("apache2")
    folder = Path(program).parent.parent / "lib/apache2/modules"
    modules = "\n".join(
        f"LoadModule {name}_module {folder}/mod_{name}.so" for name in _APACHE_MODULES
    )
    main = aside / "apache.conf"
    main.write_text(_APACHE.format(aside=aside, port=port, modules=modules), "utf-8")
    return [program, "-X", "-f", str(main)]


def _caddy(aside: Path, port: int) -> list[str]:
    main = aside / "Caddyfile"
    settings = "{\n\tadmin off\n\tauto_https off\n}\n"
    main.write_text(settings + (aside / "site.conf").read_text("utf-8"), "utf-8")
    return [found("caddy"), "run", "--adapter", "caddyfile", "--config", str(main)]


# A server's program, and what prepares its settings for a test and returns the command.
SERVERS: Mapping[str, tuple[str, Callable[[Path, int], list[str]]]] = {
    "nginx": ("nginx", _nginx),
    "apache": ("apache2", _apache),
    "caddy": ("caddy", _caddy),
}


@contextmanager
def hosted(kind: str, folder: Path, under: str, aside: Path) -> Iterator[Host]:
    """Serve *folder* below the path *under* by a server of this kind, which keeps to *aside*."""
    program, prepare = SERVERS[kind]
    if not found(program):
        pytest.skip(f"{program} is not installed here (apt-get install {program})")
    port = _free_port()
    host = Host(kind, port, under, folder)
    aside.mkdir(parents=True)
    (aside / "site.conf").write_text(config(kind, folder, host.address), "utf-8")
    with (aside / "said").open("wb") as said:
        running = subprocess.Popen(prepare(aside, port), stdout=said, stderr=said)
        try:
            _wait(running, host, aside)
            yield host
        finally:
            running.terminate()
            running.wait(20)


def found(program: str) -> str:
    """Return where a program lies, "" for nowhere; servers often lie where only root looks."""
    return shutil.which(program, path=f"{os.environ['PATH']}:/usr/sbin") or ""


def _free_port() -> int:
    with socket.socket() as there:
        there.bind(("127.0.0.1", 0))
        return int(there.getsockname()[1])


def _wait(running: subprocess.Popen[bytes], host: Host, aside: Path) -> None:
    for _ in range(200):
        if running.poll() is not None:
            break
        try:
            host.get("")
            return
        except OSError:
            time.sleep(0.05)
    logs = [aside / "said", aside / "error.log"]
    pytest.fail("\n".join(log.read_text("utf-8") for log in logs if log.exists()))
