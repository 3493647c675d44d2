"""Median and median absolute deviation of lists, by SciPy; and the rows of a table, by Python's own csv module."""
import csv
import io
import json
import sys

import numpy
from scipy import stats

asked = json.load(sys.stdin)
json.dump(
    {
        "median": [float(numpy.median(values)) for values in asked["lists"]],
        "mad": [float(stats.median_abs_deviation(values)) for values in asked["lists"]],
        "rows": list(csv.reader(io.StringIO(asked["table"], newline=""))),
    },
    sys.stdout,
)
