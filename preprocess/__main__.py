"""``python -m preprocess`` is the same as ``evenmark``."""

from preprocess.cli.app import main

if __name__ == "__main__":
    main()
