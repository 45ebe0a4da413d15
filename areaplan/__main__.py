"""`python -m areaplan`: the same as the `areaplan` command."""

from areaplan.cli.main import main

if __name__ == "__main__":
    main()
