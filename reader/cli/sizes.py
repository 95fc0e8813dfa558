"""Commands about sizes, fit and wheels; no photo needed."""

from __future__ import annotations

from typing import Annotated

import typer

from reader.cli.options import Json, Market, Why


def attach(app: typer.Typer) -> None:
    """Add this family's commands to the app."""
    numbers = {"ignore_unknown_options": True}  # '-5 psi' is a wrong pressure, not an option
    app.command("size", context_settings=numbers)(size)
    app.command("fit")(fit)
    app.command("wheel")(wheel)
    app.command("tube")(tube)
    app.command("pressure", context_settings=numbers)(pressure)


def _end(status: int) -> None:
    """End with this exit status: 1 where the answer is that nothing goes, or can't be told."""
    if status:
        raise typer.Exit(int(status))


def _no_option(words: list[str]) -> None:
    """Raise a usage error for what looks like an option that does not exist."""
    for word in words:
        if word.startswith("--"):
            raise typer.BadParameter(f"no such option: {word}")


def size(
    text: Annotated[
        list[str],
        typer.Argument(help="What is written on the part, e.g. 26 x 1 3/8", show_default=False),
    ] = [],  # noqa: B006 (typer's way to say 'none given')
    market: Market = "world",
    measure_rim: Annotated[
        str,
        typer.Option(
            help="On a bare rim: '1995 mm around', '634 mm across', '77 in seat' or '311 hub'.",
            show_default=False,
        ),
    ] = "",
    measure_tyre: Annotated[
        str,
        typer.Option(
            help="Tape over an inflated tyre's tread: '1890 mm around'.", show_default=False
        ),
    ] = "",
    width: Annotated[
        float | None,
        typer.Option(help="The measured tyre's width in mm, if known.", show_default=False),
    ] = None,
    error: Annotated[
        float | None,
        typer.Option(help="Give or take so many mm, as the tape was laid.", show_default=False),
    ] = None,
    why: Why = False,
    json: Json = False,
) -> None:
    """Say what a size text or a tape measurement can mean, or all names of an ISO size."""
    from reader.cli import size_run

    _no_option(text)
    if text and not (measure_rim or measure_tyre):
        _end(size_run.explain_text(" ".join(text), market, why, json))
    elif not text and bool(measure_rim) != bool(measure_tyre):
        size_run.explain_tape(measure_rim, measure_tyre, width, error, market, why, json)
    else:
        raise typer.BadParameter("give either a size, or --measure-rim, or --measure-tyre")


def fit(
    parts: Annotated[
        list[str],
        typer.Argument(
            help="A tyre and a rim, e.g. 37-622 622x19C; or one of them for a list.",
            show_default=False,
        ),
    ],
    kind: Annotated[
        str, typer.Option(help="Rim's edge if not in its mark: C, SS, TC, TSS, HB or TUBULAR.")
    ] = "",
    edge: Annotated[
        str, typer.Option(help="The tyre's edge: wired, 'beaded edge' or tubular.")
    ] = "",
    tubeless: Annotated[
        bool | None, typer.Option("--tubeless/--tube-only", help="Kind of tyre.")
    ] = None,
    hookless: Annotated[
        bool | None,
        typer.Option("--hookless-ok/--no-hookless", help="The tyre's maker on hookless rims."),
    ] = None,
    folding: Annotated[
        bool | None, typer.Option("--folding/--stiff", help="The tyre's bead.")
    ] = None,
    tyre_max: Annotated[
        str, typer.Option(help="Pressure on the tyre: '85 psi' or '65-95 PSI'.", show_default=False)
    ] = "",
    tyre_min: Annotated[
        str, typer.Option(help="Least pressure on the tyre.", show_default=False)
    ] = "",
    rim_max: Annotated[
        str, typer.Option(help="Greatest pressure on the rim.", show_default=False)
    ] = "",
    rim_allows: Annotated[
        str,
        typer.Option(help="Tyre widths that the rim's maker allows: 25-47.", show_default=False),
    ] = "",
    tyre_allows: Annotated[
        str,
        typer.Option(help="Rim widths that the tyre's maker allows: 19-25.", show_default=False),
    ] = "",
    off_road: Annotated[bool, typer.Option("--off-road", help="Ridden off the road.")] = False,
    market: Market = "world",
    why: Why = False,
    json: Json = False,
) -> None:
    """Grade a tyre on a rim, or list what may go on a rim or under a tyre.

    Exit status 1 where the answer is never, no table allows it, tables disagree or can't tell.
    """
    from reader.cli import fit_run

    if len(parts) > 2:
        raise typer.BadParameter("give a tyre and a rim; put a size with spaces in quotes")
    wishes = fit_run.Wishes(
        kind=kind,
        edge=edge,
        tubeless=tubeless,
        hookless=hookless,
        folding=folding,
        tyre_max=tyre_max,
        tyre_min=tyre_min,
        rim_max=rim_max,
        rim_allows=rim_allows,
        tyre_allows=tyre_allows,
        use="off-road" if off_road else "road",
        market=market,
        why=why,
    )
    _end(fit_run.run(parts, wishes, json))


def wheel(
    size: Annotated[
        list[str], typer.Argument(help="The tyre's size, e.g. 28-622.", show_default=False)
    ],
    rim: Annotated[
        float | None, typer.Option(help="The rim's inner width in mm.", show_default=False)
    ] = None,
    instead_of: Annotated[
        str, typer.Option(help="The tyre it replaces, e.g. 47-584.", show_default=False)
    ] = "",
    gear: Annotated[
        str, typer.Option(help="Chainring and sprocket, e.g. 46/18.", show_default=False)
    ] = "",
    why: Why = False,
    json: Json = False,
) -> None:
    """Say how large a wheel is, how far it rolls and what room it needs; compare two."""
    from reader.cli import wheel_run

    _end(wheel_run.run_wheel(" ".join(size), rim, instead_of, gear, why, json))


def tube(
    size: Annotated[str, typer.Argument(help="The tyre's ISO size, e.g. 47-559.")],
    label: Annotated[
        str, typer.Argument(help="A tube's label, e.g. 37/57-559.", show_default=False)
    ] = "",
    hole: Annotated[
        float | None, typer.Option(help="The rim's valve hole in mm.", show_default=False)
    ] = None,
    rim: Annotated[
        float | None,
        typer.Option(help="The rim's inner width in mm, for the tape.", show_default=False),
    ] = None,
    why: Why = False,
    json: Json = False,
) -> None:
    """Say which tube suits a tyre, which valve goes through the hole, which tape fits.

    Exit status 1 where the tube does not suit, or it can't be told.
    """
    from reader.cli import wheel_run

    _end(wheel_run.run_tube(size, label, hole, rim, why, json))


def pressure(
    value: Annotated[
        list[str], typer.Argument(help="A pressure as printed, e.g. 80 psi or 65-95 PSI.")
    ],
    why: Why = False,
    json: Json = False,
) -> None:
    """Say what a printed pressure is in PSI, bar, kPa and kg/cm2."""
    from reader.cli import wheel_run

    _no_option(value)
    _end(wheel_run.run_pressure(" ".join(value), why, json))
