"""Start yardplan: with words on the command line the job without a screen, else the window."""

from yardplan.cli import app


def main() -> None:
    """Run the command line; without a command the window opens."""
    app()


if __name__ == "__main__":
    main()
