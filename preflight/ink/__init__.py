"""Ink: how colours separate, what the ink weighs, how copies lie on the film, what an order costs."""
