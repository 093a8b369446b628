"""What the world does to a running command: no disk, no right to write, a kill, another clock, strange places."""
