"""Benchmarks: accuracy on planted faults and on real artwork, and speed. Their tables stand in docs/."""
