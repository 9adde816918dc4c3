"""Nodes and wires, their order, and the program that a chain becomes."""
