"""Sew: the order of making for each cushion, with its own numbers."""

from squab.sew.order import sewing_orders

__all__ = ["sewing_orders"]
