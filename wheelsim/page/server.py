"""Serves the bench page: on this machine alone, or, told so, to others who have the token."""

import contextlib
import gc
import secrets
import socket
from pathlib import Path

from wheelsim.files.text import read_toml
from wheelsim.mechanics.structure import Unstable
from wheelsim.page.table import jobs_of, sample_copy, within

LOOPBACK = ("127.0.0.1", "localhost", "::1")


class NotServed(Exception):
    """The page can't be served; the message says why and what would do."""


def chosen(target: str | None) -> tuple[Path, Path | None]:
    """The job to open, and the folder to choose others from, if one was given.

    Raises
    ------
    NotServed
        Where there is no such job.
    """
    if target is None:
        return sample_copy(), None
    path = Path(target)
    if path.is_dir():
        names = [name for name in jobs_of(path) if "wheel" in read_toml(path / name, "expected a job file")]
        if not names:
            raise NotServed(f"{target}: no job in this folder; expected a .toml file: wheelsim assess --new FILE")
        return path / names[0], path
    return path, None


def serve(target: str | None, port: int, host: str, show: bool) -> None:
    """Serve until stopped.

    Raises
    ------
    NotServed
    FileError
        Where the job can't be read.
    """
    try:
        from nicegui import app, ui
    except ImportError:
        raise NotServed("bench: the page is not installed; expected: pip install 'wheelsim[bench]'") from None
    from wheelsim.files.errors import FileError
    from wheelsim.files.reader import examine
    from wheelsim.page import new_wheel, practise, shelf
    from wheelsim.page.guard import Guard
    from wheelsim.page.layout import BenchPage

    path, folder = chosen(target)
    if "wheel" not in read_toml(path, "expected a job file"):
        raise NotServed(f'{path}: no job; expected a file with wheel = "...": wheelsim assess --new FILE writes one')
    examine(path)
    with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            raise NotServed(f"--port: {port}; {error.strerror or error}; expected a free one, like --port {port + 1}"
                            ) from None
    token = None if host in LOOPBACK else secrets.token_urlsafe(16)
    names = {host, *LOOPBACK} if token is None else {host, *LOOPBACK, *_own_addresses(host)}
    hosts = {f"[{name}]:{port}" if ":" in name else f"{name}:{port}" for name in names}
    app.add_middleware(Guard, hosts=hosts, token=token)

    @ui.page("/", title="wheelsim bench")
    def bench(job: str = "") -> None:
        here = path
        if job:
            with contextlib.suppress(ValueError):  # a name that leads out of the folder: open the first job instead
                here = within(path.parent, job)
        try:
            BenchPage(here, folder)
        except (FileError, Unstable):  # no such job, not readable, or no stable wheel: open the first job instead
            BenchPage(path, folder)

    # A page that is left is a reference cycle that holds the arrays of its wheel: it is collected at once, or memory
    # grows. What was imported is frozen, so that a collection does not go through it each time.
    app.on_startup(gc.freeze)
    app.on_delete(_clear)
    new_wheel.register(path.parent)
    practise.register()
    shelf.register(folder)

    reached = "127.0.0.1" if host in ("0.0.0.0", "::") else host
    print(f"The bench page: http://{reached}:{port}/{f'?token={token}' if token else ''}", flush=True)
    # Without the library's utility classes, compiled in the browser at each load: the page has a style of its own.
    ui.run(host=host, port=port, show=show, reload=False, title="wheelsim bench", show_welcome_message=False,
           favicon="\N{WHEEL OF DHARMA}", tailwind=False)


def _clear() -> None:
    gc.collect()


def _own_addresses(host: str) -> set[str]:
    """Names by which this machine is reached when it listens on every address."""
    if host not in ("0.0.0.0", "::"):
        return set()
    name = socket.gethostname()
    found = {name, name.lower()}
    with contextlib.suppress(OSError):
        found |= {str(one[4][0]) for one in socket.getaddrinfo(name, None)}
    return found
