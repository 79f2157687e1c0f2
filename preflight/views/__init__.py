"""Pictures of the artwork for the reports, drawn where the customer's file is open.

``model`` is plain data: what to draw, and what came of it. ``draw`` does it.
"""
