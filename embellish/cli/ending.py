"""How a command ends: its exit code, and one sentence (and JSON, where asked) if it went wrong."""

from __future__ import annotations

import io
import os
import re
import signal
import sys
import traceback
from collections.abc import Callable, Sequence
from types import FrameType
from typing import Any, NoReturn

from typer.core import TyperGroup
from typer.exceptions import TyperException

from embellish.cli.help_words import in_plain_words
from embellish.cli.telling import print_json
from embellish.errors import EmbellishError

MENDED_BY_USER, FAULT, STOPPED = 2, 3, 130

_FAULT = "this is a fault of embellish, not of your files"
_STOPPED = "nothing was written"

_PLAINER = (
    (r"Invalid value for '?\"?(\S+?)'?\"?: (.*)", r"\1: \2"),
    (r"Input should be a valid number.*", "a number is wanted here, such as 120"),
    (r"Input should be a valid integer.*", "a whole number is wanted here, such as 2"),
    (r"No such option: (\S+)", r"there is no option \1"),
    (r"No such command '(.*?)'", r"there is no command '\1'"),
    (r" \(Possible options: (\S+)\)", r". Is \1 meant?"),
    (r" \(Possible options: (.*)\)", r". Is it one of \1?"),
    (r"Did you mean '(.*?)'\?", r"Is '\1' meant?"),
    (r"Missing argument '(.*?)'", r"'\1' is missing"),
    (r"Missing option '(.*?)'", r"the option \1 is missing"),
    (r"Option '(.*?)' requires an argument", r"the option \1 needs a value after it"),
    (r"Got unexpected extra argument\S* \((.*)\)", r"there is no place for '\1'"),
)
"""What the command-line library says, and how we say it."""


class Stopped(BaseException):
    """The user pressed Ctrl-C; the library below would swallow a KeyboardInterrupt."""


class Commands(TyperGroup):
    """The commands in the order of the work, and Ctrl-C told."""

    order: Sequence[str] = ()

    def list_commands(self, ctx: Any) -> list[str]:
        """Return the names in the order of the work; others after them."""
        names = super().list_commands(ctx)
        place = {name: number for number, name in enumerate(self.order)}
        return sorted(names, key=lambda name: place.get(name, len(place)))

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """Return a command, its help in plain words."""
        command = super().get_command(ctx, cmd_name)
        if command is not None:
            in_plain_words(command, ctx)
        return command

    def invoke(self, ctx: Any) -> object:
        """Run a command."""
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt as stop:
            raise Stopped(*stop.args) from stop


def run_to_the_end(app: Callable[..., object]) -> NoReturn:
    """Run the commands and exit: 0 or 1 as they say, 2 the user's to mend, 3 ours, 130 stopped."""
    interrupted: list[int] = []

    def interrupt(number: int, _frame: FrameType | None) -> None:
        interrupted.append(number)
        raise KeyboardInterrupt

    signal.signal(signal.SIGINT, interrupt)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a terminal that lacks a letter shows '?'
    try:
        code = app(prog_name="embellish", standalone_mode=False)
        sys.stdout.flush()
    except SystemExit:
        raise
    except BaseException as wrong:  # noqa: BLE001 - the last net
        # A library that was loading may tell of Ctrl-C in its own way.
        _end_badly(Stopped() if interrupted and isinstance(wrong, Exception) else wrong)
    if code == STOPPED:  # while the command line was read
        _end_stopped(Stopped())
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # all is done, and too late to stop
    sys.exit(code if isinstance(code, int) else 0)


def _end_badly(wrong: BaseException) -> NoReturn:
    if isinstance(wrong, EmbellishError):
        _end(wrong)
    if isinstance(wrong, TyperException):
        _end_usage(wrong)
    if isinstance(wrong, (Stopped, KeyboardInterrupt)):
        _end_stopped(wrong)
    # Every file has a sentence of its own; what has no name is the output.
    if isinstance(wrong, OSError) and wrong.filename is None:
        _end_unsaid(wrong)
    _end_fault(wrong)


def usage_error(wrong: TyperException) -> EmbellishError:
    """Return what is wrong with a command line as one of our sentences."""
    message = wrong.format_message().rstrip(".")
    for theirs, ours in _PLAINER:
        message = re.sub(theirs, ours, message)
    context = getattr(wrong, "ctx", None)
    command = context.command_path if context is not None else "embellish"
    message, _, proposal = message.partition(". Is ")
    proposal = f"Is {proposal} " if proposal else ""
    return EmbellishError(message, item=command, mend=f"{proposal}See: {command} --help")


def _end(wrong: EmbellishError, *, named: str = "embellish: ") -> NoReturn:
    print(f"{named}{wrong}", file=sys.stderr)
    _as_json(wrong.as_json())
    sys.exit(MENDED_BY_USER)


def _end_usage(wrong: TyperException) -> NoReturn:
    if type(wrong).__name__ == "NoArgsIsHelpError":
        print(wrong.format_message(), file=sys.stderr)
        sys.exit(MENDED_BY_USER)
    _end(usage_error(wrong), named="")


def _end_unsaid(wrong: OSError) -> NoReturn:
    """End where standard output itself cannot be written: its disk is full, its reader gone."""
    gone = isinstance(wrong, BrokenPipeError)  # as when only the head of a list is wanted
    if not gone:
        print(f"embellish: cannot write to the output: {wrong.strerror}.", file=sys.stderr)
        sys.stderr.flush()
    os._exit(1 if gone else MENDED_BY_USER)  # an ordinary exit would write the rest once more


def _end_fault(fault: BaseException) -> NoReturn:
    traceback.print_exception(fault)
    print(f"embellish: {_FAULT}. Please report the lines above.", file=sys.stderr)
    _as_json({"message": f"{_FAULT}: {fault!r}", "file": None, "item": None, "mend": ""})
    sys.exit(FAULT)


def _end_stopped(stop: BaseException) -> NoReturn:
    words = str(stop) or _STOPPED
    print(f"embellish: stopped; {words}.", file=sys.stderr)
    _as_json({"message": f"stopped; {words}", "file": None, "item": None, "mend": ""})
    sys.stdout.flush()
    # An ordinary exit would now and then end in death by the signal, and so without this code.
    os._exit(STOPPED)


def _as_json(error: dict[str, str | None]) -> None:
    """Print the error for programs too, where JSON was asked for, even if badly."""
    if "--json" in sys.argv:
        print_json({"error": error})
