"""Figures that staff compare an order with: sizes, pressures, seconds. Each names its rule and its source.

A computed figure is a check shown to staff, never an instruction, and never shown to a family.
"""
