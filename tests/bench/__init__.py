"""Benches: how the program compares with a baseline in the same run. They are no part of the suite."""
