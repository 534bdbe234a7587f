"""`python -m dampkit` is the command `dampkit`."""

from dampkit.app.main import main

if __name__ == "__main__":
    main()
