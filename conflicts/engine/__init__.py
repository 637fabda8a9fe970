"""The geometry of a bore among buried lines: pure numpy and numba, no Django."""
