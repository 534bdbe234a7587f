"""The tests. Matrices here are small: threads of the linear algebra only get in each other's way, as in the program."""

import os

ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
for _library in ONE_THREAD:
    os.environ.setdefault(_library, "1")
