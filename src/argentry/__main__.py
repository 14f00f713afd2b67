"""``python -m argentry``: the command, where its script is not on the path."""

from argentry.cli.main import main

if __name__ == "__main__":
    main()
