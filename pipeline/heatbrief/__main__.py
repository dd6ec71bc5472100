"""`python -m heatbrief`."""

from heatbrief.cli import main

if __name__ == "__main__":
    main()
