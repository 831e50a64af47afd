"""The `intake` command: registers the commands; imports stay light so that --help answers at once."""

from __future__ import annotations

import sys

import typer

from intake.cli import common


def build() -> typer.Typer:
    """The command with all its parts."""
    app = typer.Typer(
        name="intake", no_args_is_help=True, add_completion=False, rich_markup_mode=None,
        pretty_exceptions_enable=False,
        help="Turn a technician's walk along the shelves - recordings and photos - into intake records.",
    )
    app.callback()(common.remember_shop)
    for register in common.parts():
        register(app)
    return app


def main() -> None:
    """Run the command; an error meant for the user is one line on standard error, never a traceback."""
    from intake.errors import IntakeError, UsageError
    from intake.outcome import EXIT_FAILED, EXIT_USAGE

    try:
        build()()
    except UsageError as error:
        common.say_error(str(error))
        sys.exit(EXIT_USAGE)
    except IntakeError as error:
        common.say_error(str(error))
        sys.exit(EXIT_FAILED)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(0)
    except KeyboardInterrupt:
        common.say_error("Stopped. What was finished is kept; run the same command to go on.")
        sys.exit(130)
