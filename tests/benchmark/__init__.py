"""How fast the statistics are beside reference libraries: `python -m tests.benchmark`.

Ratios within one run, each with the check that both gave the same answer. Times alone depend on
the machine and are printed, never asserted.
"""
