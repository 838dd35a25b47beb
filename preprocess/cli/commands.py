"""Commands as people know them: grouped by stage of the job, nearest names, plain usage lines."""

from __future__ import annotations

import re
from difflib import get_close_matches
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from typer.core import TyperCommand, TyperGroup

from preprocess.cli.jobs import is_drawing
from preprocess.cli.options import YAML
from preprocess.cli.plain_texts import take_as_typed

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

PREPARE = "Prepare a drawing"
MAKE = "Make what the laser needs"
FILAMENT = "Know your filament"
LEARN = "Look things up"

_MEANT = {
    "completion": "--install-completion",
    "version": "--version",
    **dict.fromkeys(("init", "new", "create", "setup"), "start"),
    **dict.fromkeys(("validate", "verify", "lint", "test"), "check"),
    **dict.fromkeys(("convert", "process", "make", "build", "export", "go"), "run"),
    **dict.fromkeys(("optimise", "optimize", "suggest", "recommend", "tune"), "advise"),
    **dict.fromkeys(("simulate", "estimate", "heat", "time"), "predict"),
    **dict.fromkeys(("diff", "preview", "overlay"), "compare"),
    **dict.fromkeys(("live", "serve", "follow", "monitor"), "watch"),
    **dict.fromkeys(("batch", "bulk", "all"), "series"),
    **dict.fromkeys(("calibrate", "learn", "profile"), "fit"),
    **dict.fromkeys(("list", "steps", "plugins", "filters"), "passes"),
    **dict.fromkeys(("why", "info", "describe", "codes"), "explain"),
}
"""What people call a command elsewhere, and what it is called here."""


_TYPED = "evenmark.typed"


class Command(TyperCommand):
    """A command whose usage line reads as one types it."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Take texts and flags as they are typed."""
        take_as_typed(self.get_params(ctx))
        return super().parse_args(ctx, args)

    def collect_usage_pieces(self, ctx: Any) -> list[str]:  # noqa: ARG002 - as typer calls it
        """Options, then arguments by their metavars, which say what may be left out."""
        return ["[OPTIONS]", *(param.metavar for param in self._arguments())]

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """List arguments, then options."""
        named = [(param.metavar.strip("[]"), param.help or "") for param in self._arguments()]
        others = [param for param in self.get_params(ctx) if param.param_type_name == "option"]
        records = [param.get_help_record(ctx) for param in others]
        for title, rows in (("Arguments", named), ("Options", [r for r in records if r])):
            if rows:
                with formatter.section(title):
                    formatter.write_dl(rows)

    def _arguments(self) -> list[Any]:
        return [param for param in self.params if param.param_type_name == "argument"]


class Commands(TyperGroup):
    """The commands in the order of the job; what is no command is told what was meant."""

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """List the commands by stage."""
        held = [(name, self.get_command(ctx, name)) for name in self.list_commands(ctx)]
        shown = [(name, command) for name, command in held if command and not command.hidden]
        room = formatter.width - 6 - max(len(name) for name, _ in shown)
        for stage in (PREPARE, MAKE, FILAMENT, LEARN):
            rows = [
                (f"{name:<11}", command.get_short_help_str(room))
                for name, command in shown
                if getattr(command, "rich_help_panel", None) == stage
            ]
            if rows:
                with formatter.section(stage):
                    formatter.write_dl(rows)

    def parse_args(self, ctx: Any, args: list[str]) -> Any:
        """Keep the arguments, so that a message can put them in the right order."""
        ctx.meta[_TYPED] = tuple(args)
        take_as_typed(self.get_params(ctx))
        return super().parse_args(ctx, args)

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """The command that is named.

        Raises:
            UsageError: there is none; the message names the nearest.
        """
        if args and self.get_command(ctx, args[0]) is None and not args[0].startswith("-"):
            ctx.fail(_no_such_command(args, self.list_commands(ctx)))
        return super().resolve_command(ctx, args)


def _no_such_command(args: Sequence[str], known: Iterable[str]) -> str:
    name, *rest = args
    if is_drawing(name) or PurePath(name).suffix.lower() in YAML:
        what = "a drawing" if is_drawing(name) else "a recipe"
        return f"{name} is {what}, not a command; type: evenmark run {' '.join(args)}"
    meant = _MEANT.get(name.lower()) or nearest(name, known)
    if meant is None:
        return f"there is no command {name!r}; evenmark --help lists them"
    told = " ".join(("evenmark", meant, *rest))
    return f"there is no command {name!r}; did you mean: {told}"


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that is most like it; None where none is like it."""
    return next(iter(get_close_matches(word, list(known), n=1)), None)


def usage_lines(error: Any) -> tuple[str, str]:
    """Lines on the error in a command line, and on its help; for typer's usage errors."""
    ctx = getattr(error, "ctx", None)
    command = ctx.command_path if ctx else "evenmark"
    return _message(error, ctx), f"{command} --help shows how it is used"


def _message(error: Any, ctx: Any) -> str:
    option = getattr(error, "option_name", None)
    if option is not None and type(error).__name__ == "NoSuchOption":
        return _no_such_option(option, ctx)
    hint = getattr(error, "param_hint", None)
    if type(error).__name__ == "BadParameter":
        return f"{hint}: {error.message}" if isinstance(hint, str) else _bad_value(error)
    message = str(error.format_message()).rstrip(".")
    if extra := re.search(r"extra arguments? ?\(?s?\)?\W*\((.*)\)", message):
        return f"{extra[1]} is too much; evenmark series takes several drawings"
    return message[:1].lower() + message[1:]


def _bad_value(error: Any) -> str:
    param = getattr(error, "param", None)
    name = param.opts[0] if param is not None and param.opts else ""
    return f"{name}: {error.message}" if name.startswith("-") else str(error.message)


def _no_such_option(option: str, ctx: Any) -> str:
    params = ctx.command.params if ctx else []
    known = [name for param in params for name in (*param.opts, *param.secondary_opts)]
    names = {name.removeprefix("--"): name for name in known if name.startswith("--")}
    typed = ctx.meta.get(_TYPED, ()) if ctx else ()
    if ctx and ctx.parent and ctx.parent.command.get_command(ctx.parent, option.strip("-")):
        meant = " ".join((option.strip("-"), *(word for word in typed[1:] if word != option)))
        return f"{option} is a command of its own: evenmark {meant}"
    near = names.get(nearest(option.strip("-"), names) or "")
    if isinstance(getattr(ctx, "command", None), Commands):
        rest = [word for word in ctx.meta.get(_TYPED, ()) if word != option]
        told = rest if rest and ctx.command.get_command(ctx, rest[0]) else ["run", "fern.svg"]
        return f"{option} goes after a command: evenmark {' '.join((*told, option))}"
    return f"there is no option {option}" + (f"; did you mean {near}?" if near else "")
