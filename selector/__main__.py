"""The command line by `python -m selector`, where its script is not on the path."""

from __future__ import annotations

from selector.cli import main

if __name__ == "__main__":
    main()
