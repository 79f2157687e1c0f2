"""Preflight for transfer film: will a customer's artwork print well, what to change, what it will cost."""

__version__ = "0.1.0"
