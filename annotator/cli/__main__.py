"""`python -m annotator.cli` is `annotator`."""

from annotator.cli import main

if __name__ == "__main__":
    main()
