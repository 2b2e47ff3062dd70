"""Start yardplan: with words on the command line the job without a screen, else the window."""


def main() -> None:
    """Run the command line; without a command the window opens."""
    from yardplan.cli import app  # not at the top: each worker process of a search imports this module when it starts

    app()


if __name__ == "__main__":
    main()
