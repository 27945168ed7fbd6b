"""``python -m embellish``: the same as the command."""

from embellish.cli.app import main

if __name__ == "__main__":
    main()
