"""The commands, and what becomes of errors: sentences and exit codes, never a traceback.

Each command imports what it needs when it runs, so that ``--help`` is quick.
"""

from __future__ import annotations

import atexit
import gc
import platform
import sys
import tempfile
import traceback
from contextlib import suppress
from typing import Annotated, Any

import typer

from preprocess import __version__
from preprocess.cli import session, show
from preprocess.cli.advise import advise
from preprocess.cli.check import check
from preprocess.cli.commands import (
    FILAMENT,
    LEARN,
    MAKE,
    PREPARE,
    Command,
    Commands,
    usage_lines,
)
from preprocess.cli.compare import compare
from preprocess.cli.correct import correct
from preprocess.cli.coupon import coupon
from preprocess.cli.equivalents import equivalents
from preprocess.cli.explain import explain
from preprocess.cli.fit import fit
from preprocess.cli.frame import frame
from preprocess.cli.jig import jig
from preprocess.cli.log import log
from preprocess.cli.measure import measure
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
from preprocess.cli.watch import watch
from preprocess.errors import Exit, UserError
from preprocess.process_limits import use_one_thread_for_matrices

app = typer.Typer(
    name="evenmark",
    cls=Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
_STAGES = {
    PREPARE: (start, check, advise),
    MAKE: (run, watch, series, predict, compare, jig, log, correct),
    FILAMENT: (coupon, frame, measure, fit, equivalents),
    LEARN: (explain, passes, schema),
}
for stage, commands in _STAGES.items():
    for command in commands:
        app.command(cls=Command, rich_help_panel=stage)(command)


@app.command("help", hidden=True)
def show_help(
    ctx: typer.Context, command: Annotated[str, typer.Argument(show_default=False)] = ""
) -> None:
    """Show how evenmark, or one of its commands, is used."""
    parent: Any = ctx.parent
    if not command:
        show.print_text(parent.get_help() + "\n")
        return
    name, found, _ = parent.command.resolve_command(parent, [command])
    show.print_text(
        found.make_context(name, ["--help"], parent=parent, resilient_parsing=True).get_help()
        + "\n"
    )


def _version(wanted: bool) -> None:
    if wanted:
        show.print_text(f"evenmark {__version__}\n")
        raise typer.Exit


@app.callback()
def evenmark(
    version: Annotated[
        bool,
        typer.Option("--version", "-V", callback=_version, is_eager=True, help="say which version"),
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
    atexit.register(gc.freeze)  # Python would search all that is left for cycles before it ends
    use_one_thread_for_matrices()
    prepare_streams()
    try:
        with warnings_kept() as warned:
            code = _guarded(warned)
    finally:
        drop_unwritten()
    sys.exit(code)


def _guarded(warned: list[str]) -> int:
    session.begin()
    try:
        code = int(app(prog_name="evenmark", standalone_mode=False) or Exit.DONE)
    except UserError as error:
        _complain(error)
        return Exit.USER
    except KeyboardInterrupt:
        code = Exit.INTERRUPTED
    except Exception as error:  # noqa: BLE001 - our bug, whatever it is
        if hasattr(error, "format_message"):
            return _misused(error)
        if isinstance(error, OSError) and error.filename is None:  # typer's own pages
            _complain(stream_error("standard output", error))
            return Exit.USER
        with suppress(UserError):
            show.print_sentence(
                f"This is a bug in evenmark, not in your files: {type(error).__name__}."
            )
            show.print_sentence(f"Please send this report to its authors: {_report(error, warned)}")
        return Exit.BUG
    if code == Exit.INTERRUPTED:
        with suppress(UserError):
            _tell_interrupted()
    return code


def _misused(error: Any) -> int:
    """Say what is wrong with the command line, and where help is."""
    if len(sys.argv) == 1:
        show.print_text(error.ctx.get_help() + "\n")
        return Exit.USAGE
    with suppress(UserError):
        found, more = usage_lines(error)
        if _is_json():
            show.print_result("error", {"message": found, "remedy": more})
        else:
            show.print_problem(found)
            show.print_sentence(more)
    return Exit.USAGE


def _tell_interrupted() -> None:
    words = session.interrupted_words()
    if _is_json():
        show.print_result("interrupted", {"message": words})
    else:
        show.print_sentence(words)


def _is_json() -> bool:
    return "--json" in sys.argv


def _complain(error: UserError) -> None:
    """On standard error; what cannot be said there is said on standard output."""
    try:
        show.print_complaints(error, as_json=_is_json())
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
