#!/usr/bin/python3
"""The two timed jobs with numpy and scipy, arranged as fast as they go, and Welch as documented. Least ms of all runs."""
import sys
import time

import numpy
import scipy
import scipy.fft
import scipy.signal

SECONDS = float(sys.argv[1]) if len(sys.argv) > 1 else 3.0
MICS, LENGTH = 8, 384000


def least_ms(job, workers=1):
    """One worker: processor time, which other programs on the machine disturb less; more: time on the wall."""
    clock = time.process_time if workers == 1 else time.perf_counter
    least, begin = 1e9, time.perf_counter()
    while True:
        start = clock()
        job()
        least = min(least, clock() - start)
        if time.perf_counter() - begin > SECONDS:
            return 1e3 * least


def sweeps():
    rate, seconds, low, high = 48000.0, 6.0, 20.0, 20000.0
    t = numpy.arange(int(rate * seconds)) / rate
    constant = seconds / numpy.log(high / low)
    sweep = 0.25 * numpy.sin(2 * numpy.pi * low * constant * numpy.expm1(t / constant))
    reference = numpy.zeros(LENGTH, numpy.float32)
    reference[: sweep.size] = sweep
    random = numpy.random.default_rng(1)
    heard = numpy.empty((MICS, LENGTH), numpy.float32)
    for mic in range(MICS):
        delay = 900 + 400 * mic
        heard[mic] = 1e-3 * random.standard_normal(LENGTH)
        heard[mic, delay:] += 0.3 * reference[:-delay]
    return reference, heard


def job_a_full(reference, heard, workers):
    x = scipy.fft.rfft(reference)
    power = x.real**2 + x.imag**2
    inverse = numpy.conj(x) / (power + numpy.float32(1e-6) * power.max())
    arrivals = []
    def one(rows):
        y = scipy.fft.rfft(heard[rows], axis=-1, workers=workers)
        y *= inverse
        analytic = numpy.zeros((y.shape[0], LENGTH), numpy.complex64)
        analytic[:, : y.shape[1]] = y
        analytic[:, 1 : LENGTH // 2] *= 2
        response = scipy.fft.ifft(analytic, axis=-1, workers=workers, overwrite_x=True)
        arrivals.extend(numpy.argmax(response.real**2 + response.imag**2, axis=-1))
    step = 1 if workers == 1 else 2
    for first in range(0, MICS, step):
        one(slice(first, first + step))
    return arrivals


def job_a_peak(reference, heard, workers):
    x = scipy.fft.rfft(reference)
    power = x.real**2 + x.imag**2
    inverse = numpy.conj(x) / (power + numpy.float32(1e-6) * power.max())
    arrivals = []
    step = 1 if workers == 1 else 2
    for first in range(0, MICS, step):
        y = scipy.fft.rfft(heard[first : first + step], axis=-1, workers=workers)
        y *= inverse
        for response in scipy.fft.irfft(y, LENGTH, axis=-1, workers=workers, overwrite_x=True):
            at = int(numpy.argmax(numpy.abs(response)))
            part = numpy.take(response, numpy.arange(at - 2048, at + 2048), mode="wrap")
            arrivals.append(at - 2048 + int(numpy.argmax(numpy.abs(scipy.signal.hilbert(part)))))
    return arrivals


def noises():
    random = numpy.random.default_rng(2)
    reference = (0.1 * random.standard_normal(2880000)).astype(numpy.float32)
    heard = numpy.stack([reference + (0.03 * random.standard_normal(reference.size)).astype(numpy.float32) for _ in range(MICS)])
    return reference, heard


def job_b_best(reference, heard, workers, block=16384):
    window = scipy.signal.get_window("hann", block).astype(numpy.float32)
    blocks = numpy.lib.stride_tricks.sliding_window_view(reference, block)[:: block // 2]
    x = numpy.empty((blocks.shape[0], block // 2 + 1), numpy.complex64)
    chunk = 16
    gxx = 0
    for first in range(0, blocks.shape[0], chunk):
        x[first : first + chunk] = scipy.fft.rfft(blocks[first : first + chunk] * window, axis=-1, workers=workers)
    gxx = numpy.einsum("kf,kf->f", x.real, x.real) + numpy.einsum("kf,kf->f", x.imag, x.imag)
    results = []
    for mic in heard:
        views = numpy.lib.stride_tricks.sliding_window_view(mic, block)[:: block // 2]
        gyy, gxy = 0, 0
        for first in range(0, views.shape[0], chunk):
            y = scipy.fft.rfft(views[first : first + chunk] * window, axis=-1, workers=workers)
            gyy = gyy + (numpy.einsum("kf,kf->f", y.real, y.real) + numpy.einsum("kf,kf->f", y.imag, y.imag))
            gxy = gxy + numpy.einsum("kf,kf->f", x[first : first + chunk].conj(), y)
        results.append((gxy / gxx, (gxy.real**2 + gxy.imag**2) / (gxx * gyy)))
    return results


def job_b_documented(reference, heard, block=16384):
    for mic in heard:
        _, gxy = scipy.signal.csd(reference, mic, 48000.0, nperseg=block)
        _, gxx = scipy.signal.welch(reference, 48000.0, nperseg=block)
        scipy.signal.coherence(reference, mic, 48000.0, nperseg=block)
        gxy / gxx


print(f"# numpy {numpy.__version__}, scipy {scipy.__version__}")
reference, heard = sweeps()
for workers in (1, 2):
    print(f"peer-a-full-{workers} {least_ms(lambda: job_a_full(reference, heard, workers), workers):.2f}", flush=True)
    print(f"peer-a-peak-{workers} {least_ms(lambda: job_a_peak(reference, heard, workers), workers):.2f}", flush=True)
reference, heard = noises()
for workers in (1, 2):
    print(f"peer-b-{workers} {least_ms(lambda: job_b_best(reference, heard, workers), workers):.2f}", flush=True)
print(f"peer-b-documented {least_ms(lambda: job_b_documented(reference, heard)):.2f}", flush=True)
