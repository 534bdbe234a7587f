"""The tests. Matrices here are small: threads of the linear algebra only get in each other's way, as in the program."""

import os

for _library in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_library, "1")
