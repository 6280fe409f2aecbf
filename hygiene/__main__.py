"""Begins the program: ``hygiene``, or ``python -m hygiene``."""

from signal import SIG_DFL, SIGINT, signal


def main() -> None:
    """Run the program; Ctrl-C while it is being loaded ends it without a word."""
    usual = signal(SIGINT, SIG_DFL)
    from hygiene.cli import main as run

    signal(SIGINT, usual)
    run()


if __name__ == "__main__":
    main()
