#!/usr/bin/python3
"""Values of scipy.signal on data that any language can make again; writes name and value, one a line.

Data: x(n) = top 24 bits of a 64-bit linear congruential generator (Knuth's MMIX constants), seed 1, scaled to -1..1,
32768 samples; y = x through the taps 0.5, 0, -0.25, 0.125, delayed by 7 samples, plus 0.1 times the same generator from
seed 2. Made with scipy 1.10.1 and numpy 1.24.2 (Debian 12): signal_reference.txt.
"""
import numpy
import scipy
import scipy.fft
import scipy.signal


def generator(seed, count):
    values, state = numpy.empty(count), seed
    for n in range(count):
        state = (state * 6364136223846793005 + 1442695040888963407) % 2**64
        values[n] = (state >> 40) / 2**23 - 1.0
    return values.astype(numpy.float32).astype(float)


COUNT, BLOCK = 32768, 1024
x, noise = generator(1, COUNT), generator(2, COUNT)
y = numpy.zeros(COUNT)
for delay, gain in ((7, 0.5), (9, -0.25), (10, 0.125)):
    y[delay:] += gain * x[: COUNT - delay]
y = (y + 0.1 * noise).astype(numpy.float32).astype(float)

settings = dict(fs=48000.0, window="hann", nperseg=BLOCK, noverlap=BLOCK // 2, detrend=False)
_, gxy = scipy.signal.csd(x, y, **settings)
_, gxx = scipy.signal.welch(x, **settings)
_, coherence = scipy.signal.coherence(x, y, **settings)
h1 = gxy / gxx
for line in (5, 50, 200, 400, 500):
    print(f"h1_re_{line} {h1[line].real:.9g}")
    print(f"h1_im_{line} {h1[line].imag:.9g}")
    print(f"coherence_{line} {coherence[line]:.9g}")
spectrum_x, spectrum_y = scipy.fft.rfft(x), scipy.fft.rfft(y)
response = scipy.fft.irfft(spectrum_y * numpy.conj(spectrum_x) / (numpy.abs(spectrum_x) ** 2 + 1e-3 * numpy.mean(numpy.abs(spectrum_x) ** 2)), COUNT)
for tap in (0, 7, 9, 10, 100):
    print(f"tap_{tap} {response[tap]:.9g}")
