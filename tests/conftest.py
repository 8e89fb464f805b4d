"""Settings that must precede the first import of numpy."""

import os

# A wheel's matrices are small: BLAS threads only get in each other's way.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
