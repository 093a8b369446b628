"""A group of commands that loads a command's module only when that command is called."""

from collections.abc import Callable, Mapping
from typing import Any

import click

Lazy = tuple[str, Callable[[], click.Command]]


class LazyGroup(click.Group):
    """`commands_by_name`: for each command what it does, in a line, and how to load it."""

    def __init__(self, *args: Any, commands_by_name: Mapping[str, Lazy], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.commands_by_name = commands_by_name

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names of the commands, in the order given."""
        return list(self.commands_by_name)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command, loaded now; None when there is none of this name."""
        held = self.commands_by_name.get(cmd_name)
        return held[1]() if held else None

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without loading them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, says) for name, (says, _) in self.commands_by_name.items()])
