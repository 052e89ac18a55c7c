"""Fits y = a exp(-k t) + c with SciPy's curve_fit, again and again, and prints a, k, c
and the microseconds of each fit.

usage: curvefit.py FILE REPEATS A K C, FILE holding a reading a line: t y
"""
import sys
import time

import numpy
import scipy
from scipy.optimize import curve_fit


def value(t, a, k, c):
    return a * numpy.exp(-k * t) + c


def slope(t, a, k, c):
    e = numpy.exp(-k * t)
    return numpy.stack((e, -a * t * e, numpy.ones_like(t)), axis=1)


t, y = numpy.loadtxt(sys.argv[1], unpack=True)
start = [float(v) for v in sys.argv[3:6]]
took = []
for _ in range(int(sys.argv[2])):
    began = time.perf_counter()
    p, _ = curve_fit(value, t, y, start, jac=slope, xtol=1e-10, ftol=1e-10, gtol=1e-10)
    took.append(1e6 * (time.perf_counter() - began))
print("SciPy", scipy.__version__)
print(*(repr(float(v)) for v in p))
for v in took:
    print(f"{v:.3f}")
