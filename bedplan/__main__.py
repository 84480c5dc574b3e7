"""``python -m bedplan``."""

from bedplan.cli import main

if __name__ == "__main__":
    main()
