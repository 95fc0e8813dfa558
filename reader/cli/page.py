"""The command that serves the phone page."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from reader.cli.options import Market
from reader.language import said

if TYPE_CHECKING:
    from reader.web.serving import Plan
    from reader.web.settings import PageSettings

HELP = typer.Option


def attach(app: typer.Typer) -> None:
    """Add this family's commands to the app."""
    app.command()(serve)


def serve(
    network: Annotated[
        bool, HELP("--network", help="Let phones on the same network in, with a pairing code.")
    ] = False,
    port: Annotated[int, HELP(min=1, max=65535, help="Port to listen on.")] = 8622,
    address: Annotated[
        str, HELP(help="Listen on this address of the computer only; implies pairing.")
    ] = "",
    name: Annotated[
        list[str] | None, HELP(help="A further host name by which this computer is called.")
    ] = None,
    code: Annotated[
        str,
        HELP(help="Pairing code of keepers, 8 letters or more; a new one each time if not given."),
    ] = "",
    helper_code: Annotated[
        str, HELP(help="The same of helpers: they add photos, parts and pieces.")
    ] = "",
    reader_code: Annotated[str, HELP(help="The same of readers: they only look.")] = "",
    catalogue: Annotated[
        str,
        HELP(envvar="TYREMARK_CATALOGUE", help="The catalogue: a file, or a database URL."),
    ] = "catalogue.db",
    photos: Annotated[
        Path | None, HELP(help="Folder for the photos of parts put into bins.")
    ] = None,
    market: Market = "world",
    workers: Annotated[
        int, HELP(min=0, max=64, help="Reading processes; 0: by the number of cores.")
    ] = 0,
    secure: Annotated[
        bool,
        HELP("--secure", help="Over HTTPS, with a certificate made for this computer and kept."),
    ] = False,
    unpair: Annotated[bool, HELP("--unpair", help="Every phone must give the code again.")] = False,
    certificate: Annotated[Path | None, HELP(help="TLS certificate, PEM.")] = None,
    key: Annotated[Path | None, HELP(help="TLS private key, PEM.")] = None,
) -> None:
    """Serve the phone page: snap a tyre or rim, get its size, and go on from there."""
    from reader.web import serving

    own = secure and certificate is None
    plan = serving.plan(network, address, port, name or [], secure or certificate is not None)
    settings = serving.settings(
        plan, (code, helper_code, reader_code), catalogue, photos, market, workers, unpair
    )
    if own:
        settings, certificate, key = serving.certified(settings)
    server = serving.ready(plan, settings, certificate, key)
    show(plan, settings)
    server.run()


def show(plan: Plan, settings: PageSettings) -> None:
    """Print the address and, for phones, the QR code."""
    from reader.web import serving

    typer.echo(said(f"The page: {plan.address}"))
    if settings.pairing:
        typer.echo(serving.qr_text(plan.pairing_address(settings.code)))
        typer.echo(said(f"Scan this with the phone, or open {plan.address} and type the code:"))
        typer.echo(f"\n    {settings.code}\n")
        typer.echo(said("That is a keeper's code, who may do everything. Others:"))
        typer.echo(f"    {settings.helper_code}  {said('helpers: add photos, parts and pieces')}")
        typer.echo(f"    {settings.reader_code}  {said('readers: look only')}\n")
    else:
        typer.echo(said("Only this computer can open it; for phones start it with --network."))
    if settings.fingerprint:
        typer.echo(
            said("The phone's browser does not know this computer's certificate and asks once.")
        )
        typer.echo(said("Go on if it shows this fingerprint (SHA-256):"))
        typer.echo(f"\n    {settings.fingerprint}\n")
    typer.echo(said(f"Code for programs: {settings.code}"))
    typer.echo(said("Stop with Ctrl-C."))
