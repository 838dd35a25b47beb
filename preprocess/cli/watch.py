"""``evenmark watch``: a page on this machine that shows a job anew at every save."""

from __future__ import annotations

import signal
import sys
import threading
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from preprocess.cli import files, jobs, show
from preprocess.cli.options import (
    AsJson,
    Changes,
    DesignArgument,
    NoHeat,
    Quiet,
    RecipeArgument,
    option,
)
from preprocess.cli.telling import Line, full_lines
from preprocess.errors import wrong
from preprocess.findings import counted

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from preprocess.findings import Finding
    from preprocess.watch.messages import Message
    from preprocess.watch.stages import WatchedJob
    from preprocess.watch.state import WatchState

_FREE, _LEAST, _MOST = 0, 1024, 65535


def watch(
    recipe: RecipeArgument = None,
    design: DesignArgument = None,
    *,
    port: Annotated[int, option("port of the page; default: any that is free")] = _FREE,
    changes: Changes = [],  # noqa: B006 - typer wants a list, and nobody changes it
    no_heat: NoHeat = False,
    quiet: Quiet = False,
    json: AsJson = False,
) -> None:
    """Show a job in a browser, anew at every save."""
    if port != _FREE and not _LEAST <= port <= _MOST:
        raise typer.BadParameter(f"name one from {_LEAST} to {_MOST}", param_hint="--port")
    named = _named(recipe, design)
    from preprocess.watch.hub import Hub
    from preprocess.watch.page import watch_page
    from preprocess.watch.server import WatchServer
    from preprocess.watch.stages import WatchTask
    from preprocess.watch.supervisor import Supervisor

    hub = Hub()
    task = WatchTask(
        partial(open_watched, recipe, design, tuple(changes), no_heat=no_heat),
        finding_lines,
        heat=not no_heat,
    )
    with WatchServer(hub, watch_page(Path(named[0]).name), port) as server:
        supervisor = Supervisor(task, named, hub, _teller(as_json=json, quiet=quiet))
        _end_on_signals(supervisor.stop)
        threading.Thread(target=server.serve_forever, daemon=True).start()
        _tell_address(server.door.address, as_json=json, quiet=quiet)
        try:
            supervisor.run()
        finally:
            server.shutdown()


def _named(recipe: str | None, design: str | None) -> list[str]:
    """The files that the command names, all of them there.

    Raises:
        UserError: one is a pipe, or cannot be read.
    """
    if recipe is None:
        raise typer.BadParameter(jobs.NONE_NAMED)
    named = [name for name in (recipe, design) if name is not None]
    for name in named:
        if name == files.STREAM:
            raise wrong("a pipe cannot be watched", "name a file, and save it when it changes")
        if jobs.is_drawing(name):
            files.read_drawing(name)
        else:
            files.read_recipe(name)
    return named


def open_watched(
    recipe: str | None, design: str | None, changes: Sequence[str], *, no_heat: bool
) -> WatchedJob:
    """Open a job as `run` does, for a worker; a drawing alone gets a recipe measured on it.

    Raises:
        UserError: every mistake in the recipe, or there is no drawing.
    """
    from preprocess.watch.stages import WatchedJob

    job = jobs.open_job(recipe, design, changes, quiet=True, no_heat=no_heat)
    if job.drawing.path is None:
        raise wrong("a pipe cannot be watched", "name the drawing's file")
    return WatchedJob(
        loaded=job.loaded,
        data=job.drawing.data,
        name=job.drawing.name,
        title=job.drawing.title,
        note=jobs.measured_words(job) if job.measured else "",
    )


def finding_lines(found: Iterable[Finding]) -> list[tuple[str, str]]:
    """Findings in full, a label and a text to each line."""
    return [(line.label, line.text) for line in full_lines(found)]


def _end_on_signals(end: Callable[[], None]) -> None:
    """Let Ctrl-C and a polite kill end the watching."""

    def heard(number: int, frame: Any) -> None:
        end()

    for one in (signal.SIGINT, signal.SIGTERM):
        signal.signal(one, heard)


def _tell_address(address: str, *, as_json: bool, quiet: bool) -> None:
    if as_json:
        show.print_result("page", {"address": address})
        return
    show.print_text(f"{address}\n")
    if not quiet and sys.stderr.isatty():
        show.print_sentence("open this address in a browser on this machine; Ctrl-C ends it")


def _teller(*, as_json: bool, quiet: bool) -> Callable[[WatchState, Message], None]:
    """What tells of each message: JSON lines, or sentences on a terminal; a pipe hears nothing."""
    if as_json:
        return _tell_data
    silent = quiet or not sys.stderr.isatty()
    return lambda state, message: show.print_lines([] if silent else _lines(state, message))


def _tell_data(state: WatchState, message: Message) -> None:
    """One line of JSON when a run begins, and one when it ends."""
    from preprocess.watch.messages import Began, Failed, Finished
    from preprocess.watch.state import state_data

    if isinstance(message, Began | Failed | Finished):
        show.print_result("run", state_data(state))


def _lines(state: WatchState, message: Message) -> list[Line]:
    """What a person at the terminal is told: each run, its mistakes, and its end, a line each."""
    from preprocess.watch.messages import Began, Failed, Finished, View

    run = f"run {state.run}"
    match message:
        case Began(()):
            return [Line("", f"{run} begins")]
        case Began():
            return [Line("", f"{run} begins, for {', '.join(state.saved)} was saved")]
        case Failed(why):
            return [Line("error", f"{run}: {why}")]
        case Finished() if state.mistakes:
            return [
                Line("error", f"{place}: {text}" if place else text)
                for place, text in state.mistakes
            ]
        case Finished():
            warnings = sum(line.label == "warn" for line in state.findings)
            heat = state.pictures.get(View.HEAT)
            told = [f"{run} is done", counted(warnings, "warning") if warnings else "no warning"]
            said = [heat.says] if heat and heat.says else []
            return [Line("", "; ".join([", ".join(told), *said]))]
        case _:
            return []
