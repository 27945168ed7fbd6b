"""``python -m embellish`` and the command ``embellish``: the first of our lines that run."""

from __future__ import annotations


def main() -> None:
    """Run the command; Ctrl-C is told in a sentence from here on, while modules still load."""
    try:
        from embellish.cli.app import main as run  # noqa: PLC0415 - loading may be interrupted

        run()
    except KeyboardInterrupt:
        import os  # noqa: PLC0415 - the same

        os.write(2, b"embellish: stopped; nothing was written.\n")
        os._exit(130)


if __name__ == "__main__":
    main()
