"""The commands, and what becomes of errors: sentences and exit codes, never a traceback.

Each command imports what it needs when it runs, so that ``--help`` is quick.
"""

from __future__ import annotations

import platform
import sys
import tempfile
import traceback
from contextlib import suppress
from typing import Annotated

import typer

from preprocess import __version__
from preprocess.cli import show
from preprocess.cli.advise import advise
from preprocess.cli.check import check
from preprocess.cli.compare import compare
from preprocess.cli.coupon import coupon
from preprocess.cli.equivalents import equivalents
from preprocess.cli.fit import fit
from preprocess.cli.jig import jig
from preprocess.cli.log import log
from preprocess.cli.passes import passes
from preprocess.cli.predict import predict
from preprocess.cli.run import run
from preprocess.cli.schema import schema
from preprocess.cli.series import series
from preprocess.cli.start import start
from preprocess.cli.streams import (
    drop_unwritten,
    prepare_streams,
    stream_error,
    warnings_kept,
)
from preprocess.errors import Exit, UserError

app = typer.Typer(
    name="evenmark",
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
_MAIN = (run, check, predict, advise, compare, coupon, fit, equivalents)
for command in (*_MAIN, passes, schema, start, series, jig, log):
    app.command()(command)


def _version(wanted: bool) -> None:
    if wanted:
        show.print_text(f"evenmark {__version__}\n")
        raise typer.Exit


@app.callback()
def evenmark(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Say which version.")
    ] = False,
) -> None:
    """Turn a design into artwork that a compact laser marks evenly on a printed part.

    Marking plastics can hurt people: use extraction and filtration, never mark chlorinated or
    unknown plastics, wear eyewear for the wavelength, keep the enclosure interlocked, and never
    leave the machine unattended. Bars mark what lies under them: put a matt sacrificial card
    there, never bare metal. The machine's manual, local codes and licensed practice come first.
    """


def main() -> None:
    """Run a command and leave with its exit code."""
    prepare_streams()
    try:
        with warnings_kept() as warned:
            code = _guarded(warned)
    finally:
        drop_unwritten()
    sys.exit(code)


def _guarded(warned: list[str]) -> int:
    try:
        app()
    except UserError as error:
        _complain(error)
        return Exit.USER
    except KeyboardInterrupt:
        return Exit.INTERRUPTED
    except Exception as error:  # noqa: BLE001 - our bug, whatever it is
        if isinstance(error, OSError) and error.filename is None:  # typer's own pages
            _complain(stream_error("standard output", error))
            return Exit.USER
        with suppress(UserError):
            show.print_sentence(
                f"This is a bug in evenmark, not in your files: {type(error).__name__}."
            )
            show.print_sentence(f"Please send this report to its authors: {_report(error, warned)}")
        return Exit.BUG
    return Exit.DONE


def _complain(error: UserError) -> None:
    """On standard error; what cannot be said there is said on standard output."""
    try:
        show.print_complaints(error, as_json="--json" in sys.argv)
    except UserError as silenced:
        with suppress(UserError):
            for one in dict.fromkeys((*error.complaints, *silenced.complaints)):
                show.print_text(show.escape_controls(f"error: {one}") + "\n")


def _report(error: Exception, warned: list[str]) -> str:
    """Write what is needed to find the bug; returns where it lies."""
    lines = [
        f"evenmark {__version__}, Python {platform.python_version()}, {platform.platform()}\n",
        f"arguments: {sys.argv[1:]}\n",
        *(f"warned: {line}\n" for line in warned),
        "\n",
        *traceback.format_exception(error),
    ]
    try:
        with tempfile.NamedTemporaryFile(
            "w", prefix="evenmark-", suffix=".txt", delete=False, encoding="utf-8", errors="replace"
        ) as file:
            file.writelines(lines)
    except OSError:
        show.print_sentence(" | ".join(line.strip() for line in lines))
        return "the line above"
    return file.name
