"""A small server for the built site: for a look on this machine, and for the tests.

It sends the strict headers that a careful host would, and can serve the site below a path, as many hosts do.
"""

import threading
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Self
from urllib.parse import urlsplit

from site_src.settings import CSP, TYPES
from site_src.trouble import Trouble

HEADERS = {
    "Content-Security-Policy": CSP,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cache-Control": "no-cache",
}


class Handler(SimpleHTTPRequestHandler):
    """Serves the files of one folder below one path, and says nothing."""

    protocol_version = "HTTP/1.1"

    def __init__(self, *arguments, prefix: str, **options):
        self.prefix = prefix
        super().__init__(*arguments, **options)

    def translate_path(self, path: str) -> str:
        """The file for an address; below the path only, so that an address that forgets the path fails here too."""
        whole = urlsplit(path).path
        if not whole.startswith(self.prefix):
            return str(Path(self.directory) / "outside the site")
        return super().translate_path("/" + whole.removeprefix(self.prefix))

    def guess_type(self, path: str) -> str:
        """The type by the file's ending: what a machine has registered differs, and browsers insist."""
        return TYPES.get(Path(path).suffix.lower()[1:], "application/octet-stream")

    def end_headers(self) -> None:
        """Adds the strict headers to every answer."""
        for name, value in HEADERS.items():
            self.send_header(name, value)
        super().end_headers()

    def list_directory(self, path: str) -> None:
        """A folder without a page of its own is not shown."""
        self.send_error(404)

    def send_error(self, code: int, message: str | None = None, explain: str | None = None) -> None:
        """The site's own page for what is not found, if it has one."""
        page = Path(self.directory) / "404.html"
        if code != 404 or not page.is_file():
            super().send_error(code, message, explain)
            return
        content = page.read_bytes()
        self.send_response(404)
        self.send_header("Content-Type", self.guess_type(page.name))
        self.send_header("Content-Length", str(len(content)))
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(content)

    def log_message(self, *_: object) -> None:
        """Requests are not reported."""


class QuietServer(ThreadingHTTPServer):
    """Does not complain when a browser leaves in the middle of an answer."""

    daemon_threads = True

    def handle_error(self, request: object, client_address: object) -> None:
        """A broken connection is the browser's business."""


class Server:
    """A running server: `url` is where the site stands, `stop()` ends it."""

    def __init__(self, directory: Path, host: str, port: int, prefix: str):
        handler = partial(Handler, directory=str(directory), prefix=prefix)
        try:
            self._server = QuietServer((host, port), handler)
        except OSError as error:
            reason = f"Port {port} at {host} cannot be used ({error.strerror})."
            raise Trouble(f"{reason} Choose another with --port.") from error
        self.port = self._server.server_address[1]
        self.url = f"http://{host}:{self.port}{prefix}"
        self._thread = threading.Thread(target=self._server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
        self._thread.start()

    def wait(self) -> None:
        """Serves until Ctrl-C."""
        try:
            while self._thread.is_alive():
                self._thread.join(1)
        except KeyboardInterrupt:
            self.stop()

    def stop(self) -> None:
        """Ends the server and frees its port."""
        self._server.shutdown()
        self._server.server_close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()


def start(directory: Path | str, port: int = 0, prefix: str = "/", host: str = "127.0.0.1") -> Server:
    """Serves a folder; port 0 takes a free one, and the prefix (such as "/some/sub/path/") stands before every file."""
    if not (prefix.startswith("/") and prefix.endswith("/")):
        raise ValueError(f"the prefix {prefix!r} must start and end with a slash")
    return Server(Path(directory), host, port, prefix)
