"""How well the learned rates do on nurseries whose truth is known.

`python -m tests.calibration` lists the claims, `python -m tests.calibration NAME` prints one as
tables; docs/methods.md quotes them. One module per claim, each with a CLAIM and the functions that
the shortened forms in the suite call.
"""
