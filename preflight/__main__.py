"""``python -m preflight``."""

from preflight.cli import process

if __name__ == "__main__":
    process()
