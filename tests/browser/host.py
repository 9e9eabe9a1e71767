"""A host for the browser's tests: the project's own server, with a record of requests and with faults on demand."""

from __future__ import annotations

import socket
import threading
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import NamedTuple, Self
from urllib.parse import unquote, urlsplit

from site_src import serve


class Fault(NamedTuple):
    """What is sent in place of a file.

    Attributes
    ----------
    status, type, content : of the answer
    to : where it sends the browser instead, "" for nowhere
    ends : how it ends: "whole"; "cut", where more was promised and the line breaks; "stalled", where more was promised
        and nothing comes until `Host.let_go`
    """

    status: int
    type: str
    content: bytes
    to: str = ""
    ends: str = "whole"


class Handler(serve.Handler):
    """The project's handler: notes each path, sends faults, and can be cut off in the middle of a connection."""

    def __init__(self, *arguments, host: Host, **options):
        self.host = host
        super().__init__(*arguments, directory=str(host.folder), prefix=host.prefix, **options)

    def setup(self) -> None:
        super().setup()
        self.host.connections.append(self.connection)

    def do_GET(self) -> None:
        self.directory = str(self.host.folder)  # the edition on show may have changed since this connection began,
        self.prefix = self.host.prefix  # and the path it stands below
        del self.headers["If-Modified-Since"]  # two editions may have been built within one second
        path = unquote(urlsplit(self.path).path).removeprefix(self.host.prefix)
        self.host.asked.append(path)
        fault = self.host.faults.get(path)
        return self.send_fault(fault) if fault else super().do_GET()

    def send_fault(self, fault: Fault) -> None:
        """Send what stands in place of the file."""
        self.send_response(fault.status)
        self.send_header("Content-Type", fault.type)
        self.send_header("Content-Length", str(len(fault.content) + (fault.ends != "whole")))
        if fault.to:
            self.send_header("Location", fault.to)
        self.end_headers()
        self.wfile.write(fault.content)
        if fault.ends == "stalled":
            released = self.host.released  # of now: who hears that it is stalled may let go at once
            self.host.stalled.set()
            released.wait()
        self.close_connection = fault.ends != "whole"

    def guess_type(self, path: str) -> str:
        return self.host.types.get(Path(path).suffix) or super().guess_type(path)

    def send_header(self, keyword: str, value: str) -> None:
        if self.host.headers or keyword not in serve.HEADERS:
            super().send_header(keyword, value)


class Host:
    """Serves a folder at one address, whatever happens to it meanwhile.

    Attributes
    ----------
    url : where the site stands
    folder : what is served; give it another to publish a new edition
    asked : the path of every request, in order
    faults : what is sent in place of a file, by its path
    types : the type sent for an ending, where it is not the right one
    headers : whether the strict headers are sent
    stalled : set as soon as an answer is held back
    """

    def __init__(self, folder: Path, prefix: str = "/", *, headers: bool = True, types: dict[str, str] | None = None):
        self.folder, self.prefix, self.headers, self.types = folder, prefix, headers, types or {}
        self.asked: list[str] = []
        self.faults: dict[str, Fault] = {}
        self.connections: list[socket.socket] = []
        self.stalled, self.released = threading.Event(), threading.Event()
        self._port = 0
        self.start()
        self.origin = f"http://127.0.0.1:{self._port}"
        self.url = self.origin + prefix

    def start(self) -> None:
        """Be there, at the same address as before."""
        self._server = serve.QuietServer(("127.0.0.1", self._port), partial(Handler, host=self))
        self._port = self._server.server_address[1]
        self._running = True
        threading.Thread(target=self._server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()

    def move(self, prefix: str) -> None:
        """Serve the site below another path."""
        self.prefix = prefix
        self.url = self.origin + prefix

    def has(self, path: str) -> bool:
        """Whether a file is there."""
        return (self.folder / path).is_file() or (self.folder / path / "index.html").is_file()

    def content(self, path: str) -> bytes:
        """Return what a file holds."""
        file = self.folder / path
        return (file / "index.html" if file.is_dir() else file).read_bytes()

    def let_go(self) -> None:
        """Break the lines of all answers that are held back."""
        self.released.set()
        self.stalled, self.released = threading.Event(), threading.Event()

    def stop(self) -> None:
        """Go away, as a host does where there is no signal: kept connections end too."""
        if not self._running:
            return
        self._running = False
        self.let_go()
        self._server.shutdown()
        self._server.server_close()
        for connection in self.connections:
            with suppress(OSError):
                connection.shutdown(socket.SHUT_RDWR)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()
