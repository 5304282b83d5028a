"""Prints what scipy makes of a sound: "name number", one a line.

  python3 wave.py RATE CHANNELS < float32 samples, interleaved

true-peak-C   the largest value of the wave through the samples of channel C,
              16 places a frame, by a sinc without a window
integrated    BS.1770 from the filter coefficients printed there, at 48 kHz only
"""
import sys

import numpy as np
from scipy import fft, signal

rate, channels = int(sys.argv[1]), int(sys.argv[2])
x = np.frombuffer(sys.stdin.buffer.read(), "<f4").astype(float).reshape(-1, channels)

# In pieces that overlap: what a sinc leaves 2048 frames away moves the fourth decimal of a dB.
PIECE, MARGIN, TIMES = 16384, 2048, 16
for c in range(channels):
    padded = np.concatenate([np.zeros(MARGIN), x[:, c], np.zeros(PIECE)])
    top = 0.0
    for at in range(0, len(padded) - PIECE + 1, PIECE - 2 * MARGIN):
        wave = fft.irfft(fft.rfft(padded[at : at + PIECE]), TIMES * PIECE) * TIMES
        top = max(top, float(np.abs(wave[TIMES * MARGIN : -TIMES * MARGIN]).max()))
    print(f"true-peak-{c}", repr(top))

if rate == 48000:
    # BS.1770-5 Annex 1, Tables 1 and 2.
    y = signal.lfilter([1.53512485958697, -2.69169618940638, 1.19839281085285], [1, -1.69065929318241, 0.73248077421585], x, axis=0)
    y = signal.lfilter([1, -2, 1], [1, -1.99004745483398, 0.99007225036621], y, axis=0)
    weights = np.array([1, 1, 1, 0, 1.41, 1.41] if channels == 6 else [1] * channels)
    power = np.concatenate([[0], np.cumsum((y * y) @ weights)])
    starts = np.arange(0, len(x) - 19200 + 1, 4800)
    blocks = (power[starts + 19200] - power[starts]) / 19200
    blocks = blocks[-0.691 + 10 * np.log10(np.maximum(blocks, 1e-30)) > -70]
    blocks = blocks[blocks > blocks.mean() / 10]
    print("integrated", repr(float(-0.691 + 10 * np.log10(blocks.mean()))))
