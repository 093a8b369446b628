"""`python -m training`."""

from training.cli import main

if __name__ == "__main__":
    main()
