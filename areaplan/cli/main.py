"""The `areaplan` command: its verbs, loaded only when used, and its errors turned to words."""

from __future__ import annotations

import importlib
import sys
import traceback
from typing import Final

import click

from areaplan import __version__
from areaplan.errors import InputError

EXIT_MET: Final = 0
EXIT_NOT_MET: Final = 1
EXIT_BAD_INPUT: Final = 2
EXIT_UNKNOWN: Final = 3
EXIT_DEFECT: Final = 70  # sysexits.h, EX_SOFTWARE: a defect must not look like a verdict

# Verb: module of areaplan.cli and its one-line help, so that `--help` imports none of them.
_VERBS: Final = {
    "brief": "Write the local-area briefing to read, print and sign: HTML or PDF.",
    "check": "Judge the drawn area of a project at its planned altitudes.",
    "compare": "Tell what changed between two projects or saved results, and whether it matters.",
    "day": "Tell what the area is today: air, glide, fields, light, weather to have.",
    "demo": "Check and map the invented demonstration scenario.",
    "export": "Write a project's layers and surfaces as files for other programs.",
    "fields": "Measure and rank the fields, and what land cover proposes.",
    "manoeuvres": "Tell which manoeuvres fit over the area, at which entry altitudes.",
    "map": "Write the map of a project as one HTML file that needs no network.",
    "new": "Write a small commented project that runs as it stands.",
    "point": "Tell everything known at one place of a project.",
    "routes": "Judge the routes in and out and the gates, like the area.",
    "rules": "Show the rule sets with their sentences.",
    "sites": "Find where to fly ground-reference figures in a wind.",
    "track": "Hold a recorded flight against the rules and fields, for the debriefing.",
    "wind": "Tell up to which wind from each direction the area keeps a field.",
}


class _Verbs(click.Group):
    """A group whose commands are imported only when one of them is called."""

    def list_commands(self, _ctx: click.Context) -> list[str]:
        return list(_VERBS)

    def get_command(self, _ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in _VERBS:
            return None
        module = importlib.import_module(f"areaplan.cli.{cmd_name}")
        command: click.Command = module.command
        return command

    def format_commands(self, _ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(_VERBS.items()))


@click.group(cls=_Verbs, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, message="areaplan %(version)s")
def cli() -> None:
    """Practice areas for flight training: legal heights, airspace, a field in gliding distance.

    Planning aid only, not for navigation. Check current charts, notices and local procedures; the
    pilot in command decides.

    Exit status: 0 met, 1 not met, 2 bad input, 3 unknown.
    """


def main() -> None:
    """Run the command line and leave with its exit status."""
    try:
        cli(standalone_mode=True)
    except InputError as error:
        click.echo(f"areaplan: {error}", err=True)
        sys.exit(EXIT_BAD_INPUT)
    except Exception:
        traceback.print_exc()
        click.echo("areaplan: a defect; no verdict was reached. Please report the above.", err=True)
        sys.exit(EXIT_DEFECT)
