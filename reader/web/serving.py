"""Starting the server: which address, which names, how many readers; and the QR code."""

from __future__ import annotations

import io
import ipaddress
import os
import socket
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import uvicorn

from reader.errors import InputError, ServerError
from reader.web.connections import patient
from reader.web.settings import PageSettings, fresh_code

LOCAL = ("localhost", "127.0.0.1", "::1")
SHORTEST_CODE = 8


@dataclass(frozen=True)
class Plan:
    """Where to listen, and how to be called."""

    listen: str
    port: int
    host: str  # for the address that people see
    hosts: tuple[str, ...]
    pairing: bool
    secure: bool

    @property
    def address(self) -> str:
        """What to type into a browser."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"http{'s' if self.secure else ''}://{host}:{self.port}/"

    def pairing_address(self, code: str) -> str:
        """What the QR code holds: it opens the page and pairs the phone in one go."""
        return f"{self.address}pair/{code}"


def plan(
    network: bool, address: str, port: int, names: Sequence[str], secure: bool = False
) -> Plan:
    """Decide where to listen.

    Without `network` and `address` only this computer can open the page. Everything else pairs.

    Raises:
        InputError: the address is none of this computer's.
    """
    more = tuple(name.lower().rstrip(".") for name in names)
    if address:
        check_address(address)
        local = ipaddress.ip_address(address).is_loopback
        return Plan(address, port, address, (address, *LOCAL, *more), not local, secure)
    if not network:
        return Plan("127.0.0.1", port, "localhost", (*LOCAL, *more), False, secure)
    own, name = own_address(), socket.gethostname().lower()
    hosts = (own, *LOCAL, name, f"{name}.local", *more)
    return Plan("0.0.0.0", port, own, hosts, True, secure)


def check_address(address: str) -> None:
    """Make sure that this computer has the address.

    Raises:
        InputError: it is not an address, or not one of this computer's.
    """
    remedy = "give one of this computer's own addresses, such as 192.168.1.20"
    try:
        version = ipaddress.ip_address(address).version
    except ValueError as error:
        raise InputError(f"{address!r} is not a network address", remedy) from error
    family = socket.AF_INET if version == 4 else socket.AF_INET6
    try:
        with socket.socket(family) as probe:
            probe.bind((address, 0))
    except OSError as error:
        raise InputError(f"this computer does not have the address {address}", remedy) from error


def own_address() -> str:
    """The address under which the local network reaches this computer.

    Raises:
        ServerError: there is no network.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:  # names a route, sends nothing; the target is a documentation address (RFC 5737)
            probe.connect(("192.0.2.1", 9))
        except OSError as error:
            raise ServerError(
                "this computer is in no network", "connect it, or give --address"
            ) from error
        return str(probe.getsockname()[0])


def settings(
    plan: Plan,
    codes: tuple[str, str, str],
    catalogue: str,
    photos: Path | None,
    market: str,
    workers: int,
    unpair: bool = False,
) -> PageSettings:
    """The app's settings; `codes` are those of keepers, helpers and readers, '' for a new one.

    Raises:
        InputError: a code is too short, or two are alike, or there is no such market.
    """
    from reader.tables import load_tables

    code, helper_code, reader_code = (one or fresh_code() for one in codes)
    plain = {one.replace("-", "").replace(" ", "").upper() for one in codes if one}
    if any(len(one) < SHORTEST_CODE for one in plain):
        raise InputError("that code is easy to guess", f"give {SHORTEST_CODE} letters or more")
    if len(plain) < len([one for one in codes if one]):
        raise InputError("two roles have the same code", "give each role a code of its own")
    load_tables().prior(622, market)
    return PageSettings(
        catalogue=catalogue,
        photos=photos or beside(catalogue, "photos"),
        folder=beside(catalogue, "bench"),
        hosts=plan.hosts,
        code=code,
        helper_code=helper_code,
        reader_code=reader_code,
        pairing=plan.pairing,
        secure=plan.secure,
        unpair=unpair,
        address=plan.address if plan.pairing else "",
        market=market,
        workers=workers or max(1, (os.cpu_count() or 2) // 2),
    )


def certified(settings: PageSettings) -> tuple[PageSettings, Path, Path]:
    """The settings with a certificate that is made for this computer's names and kept.

    Returns:
        The settings with its fingerprint, and the files of certificate and key.

    Raises:
        ServerError: it can't be kept.
    """
    from reader.web.certificate import certificate

    try:
        kept = certificate(settings.folder / "certificate", settings.hosts)
    except OSError as error:
        message = f"no certificate can be kept in {settings.folder} ({error.strerror})"
        raise ServerError(message, "give the catalogue a folder that you may write to") from error
    return replace(settings, fingerprint=kept.fingerprint), kept.certificate, kept.key


def beside(catalogue: str, what: str) -> Path:
    """A folder beside the catalogue's file, or in the current one if that is on a server."""
    if "://" in catalogue and not catalogue.startswith("sqlite"):
        return Path(f"catalogue-{what}")
    path = Path(catalogue.partition("sqlite:///")[2] or catalogue)
    return path.with_name(f"{path.stem}-{what}")


def qr_text(address: str) -> str:
    """A QR code for a terminal, two rows of modules a line."""
    import segno

    out = io.StringIO()
    segno.make(address, error="m").terminal(out, compact=True)
    return out.getvalue()


@dataclass(frozen=True)
class Ready:
    """A server that holds its port and its catalogue, and only waits to be let go."""

    server: uvicorn.Server
    listener: socket.socket

    def run(self) -> None:
        """Serve until stopped."""
        self.server.run(sockets=[self.listener])


def ready(
    plan: Plan, settings: PageSettings, certificate: Path | None = None, key: Path | None = None
) -> Ready:
    """Take the port and open the catalogue.

    Raises:
        ServerError: the port is taken, or the certificate can't be used.
        CatalogueError: the catalogue can't be opened.
        EngineError: a model or table of ours is missing or damaged.
    """
    from reader.ocr.stamp import assure_own
    from reader.pipeline import Settings
    from reader.web.app import build

    assure_own(Settings().engines)
    app = build(settings)
    config = uvicorn.Config(
        app,
        log_level="warning",
        server_header=False,
        proxy_headers=False,
        timeout_keep_alive=15,
        timeout_graceful_shutdown=5,
        limit_concurrency=400,
        http=patient(settings.limits),
        h11_max_incomplete_event_size=32_768,
        ssl_certfile=certificate,
        ssl_keyfile=key,
    )
    try:
        config.load()
    except OSError as error:
        remedy = "check the files given with --certificate and --key"
        raise ServerError(f"the certificate can't be used ({error})", remedy) from error
    return Ready(uvicorn.Server(config), bound(plan))


def bound(plan: Plan) -> socket.socket:
    """The listening socket.

    Raises:
        ServerError: the port is taken or not allowed.
    """
    family = socket.AF_INET6 if ":" in plan.listen else socket.AF_INET
    listener = socket.socket(family)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((plan.listen, plan.port))
        listener.listen(256)  # from now on a phone waits instead of being turned away
    except OSError as error:
        listener.close()
        raise ServerError(
            f"port {plan.port} can't be used ({error.strerror})", "give another one with --port"
        ) from error
    return listener
