// See fft_lanes.hpp. Included by fft_portable.cpp and fft_wide.cpp, which gather the functions; no library code in here, so
// that nothing compiled for one processor can be linked into the other.

#pragma GCC diagnostic ignored "-Wpsabi"  // vectors are passed between functions of this file only, all of them inlined

namespace {

typedef float V __attribute__((vector_size(32), aligned(4), may_alias));
typedef int Order __attribute__((vector_size(32)));

#define PROOFWALK_INLINE static inline __attribute__((always_inline))

struct C {
    V re, im;
};

PROOFWALK_INLINE V load(const float* from) { return *reinterpret_cast<const V*>(from); }
PROOFWALK_INLINE void store(float* to, V value) { *reinterpret_cast<V*>(to) = value; }

PROOFWALK_INLINE C operator+(C a, C b) { return {a.re + b.re, a.im + b.im}; }
PROOFWALK_INLINE C operator-(C a, C b) { return {a.re - b.re, a.im - b.im}; }
PROOFWALK_INLINE C operator*(float s, C a) { return {s * a.re, s * a.im}; }
PROOFWALK_INLINE C minus_i_times(C a) { return {a.im, -a.re}; }
PROOFWALK_INLINE C turned(C a, float re, float im) { return {a.re * re - a.im * im, a.re * im + a.im * re}; }

// Where a stage finds and puts its values: split arrays, `step` floats between neighbours.
struct From {
    const float *re, *im;
    std::size_t step;
    static inline __attribute__((always_inline)) C at(const From& f, std::size_t n) { return {load(f.re + n * f.step), load(f.im + n * f.step)}; }
};
// Interleaved pairs: sixteen floats hold eight values.
struct FromPairs {
    const float* re;
    std::size_t step;
    static inline __attribute__((always_inline)) C at(const FromPairs& f, std::size_t n) {
        const V low = load(f.re + n * f.step), high = load(f.re + n * f.step + 8);
        return {__builtin_shuffle(low, high, Order{0, 2, 4, 6, 8, 10, 12, 14}), __builtin_shuffle(low, high, Order{1, 3, 5, 7, 9, 11, 13, 15})};
    }
};
struct To {
    float *re, *im;
    std::size_t step;
};
PROOFWALK_INLINE void put(const To& to, std::size_t n, C value) {
    store(to.re + n * to.step, value.re);
    store(to.im + n * to.step, value.im);
}

// One stage of a Stockham transform: `count` groups (k), `stride` neighbours (q).
template <class Source>
PROOFWALK_INLINE void stage4(const Source& in, const To& out, std::size_t count, std::size_t stride, const float* factors) {
    for (std::size_t k = 0; k < count; ++k) {
        const float* w = factors + 6 * k;
        for (std::size_t q = 0; q < stride; ++q) {
            const C a = Source::at(in, q + stride * k), b = Source::at(in, q + stride * (k + count)), c = Source::at(in, q + stride * (k + 2 * count)),
                    d = Source::at(in, q + stride * (k + 3 * count));
            const C even = a + c, odd = a - c, sum = b + d, difference = minus_i_times(b - d);
            const std::size_t to = q + stride * 4 * k;
            put(out, to, even + sum);
            put(out, to + stride, turned(odd + difference, w[0], w[1]));
            put(out, to + 2 * stride, turned(even - sum, w[2], w[3]));
            put(out, to + 3 * stride, turned(odd - difference, w[4], w[5]));
        }
    }
}

template <class Source>
PROOFWALK_INLINE void stage2(const Source& in, const To& out, std::size_t count, std::size_t stride, const float* factors) {
    for (std::size_t k = 0; k < count; ++k) {
        const float* w = factors + 2 * k;
        for (std::size_t q = 0; q < stride; ++q) {
            const C a = Source::at(in, q + stride * k), b = Source::at(in, q + stride * (k + count));
            put(out, q + stride * 2 * k, a + b);
            put(out, q + stride * (2 * k + 1), turned(a - b, w[0], w[1]));
        }
    }
}

template <class Source>
PROOFWALK_INLINE void stage3(const Source& in, const To& out, std::size_t count, std::size_t stride, const float* factors) {
    constexpr float sine = 0.86602540378443864676F;
    for (std::size_t k = 0; k < count; ++k) {
        const float* w = factors + 4 * k;
        for (std::size_t q = 0; q < stride; ++q) {
            const C a = Source::at(in, q + stride * k), b = Source::at(in, q + stride * (k + count)), c = Source::at(in, q + stride * (k + 2 * count));
            const C sum = b + c, middle = a - 0.5F * sum, side = sine * minus_i_times(b - c);
            const std::size_t to = q + stride * 3 * k;
            put(out, to, a + sum);
            put(out, to + stride, turned(middle + side, w[0], w[1]));
            put(out, to + 2 * stride, turned(middle - side, w[2], w[3]));
        }
    }
}

template <class Source>
PROOFWALK_INLINE void stage5(const Source& in, const To& out, std::size_t count, std::size_t stride, const float* factors) {
    constexpr float cos1 = 0.30901699437494742410F, cos2 = -0.80901699437494742410F, sin1 = 0.95105651629515357212F, sin2 = 0.58778525229247312917F;
    for (std::size_t k = 0; k < count; ++k) {
        const float* w = factors + 8 * k;
        for (std::size_t q = 0; q < stride; ++q) {
            const C a = Source::at(in, q + stride * k), b = Source::at(in, q + stride * (k + count)), c = Source::at(in, q + stride * (k + 2 * count)),
                    d = Source::at(in, q + stride * (k + 3 * count)), e = Source::at(in, q + stride * (k + 4 * count));
            const C sum1 = b + e, sum2 = c + d, gap1 = minus_i_times(b - e), gap2 = minus_i_times(c - d);
            const C near = a + cos1 * sum1 + cos2 * sum2, far = a + cos2 * sum1 + cos1 * sum2;
            const C near_side = sin1 * gap1 + sin2 * gap2, far_side = sin2 * gap1 - sin1 * gap2;
            const std::size_t to = q + stride * 5 * k;
            put(out, to, a + sum1 + sum2);
            put(out, to + stride, turned(near + near_side, w[0], w[1]));
            put(out, to + 2 * stride, turned(far + far_side, w[2], w[3]));
            put(out, to + 3 * stride, turned(far - far_side, w[4], w[5]));
            put(out, to + 4 * stride, turned(near - near_side, w[6], w[7]));
        }
    }
}

template <class Source>
PROOFWALK_INLINE void any_stage(std::size_t radix, const Source& in, const To& out, std::size_t count, std::size_t stride, const float* factors) {
    switch (radix) {
        case 4: stage4(in, out, count, stride, factors); break;
        case 2: stage2(in, out, count, stride, factors); break;
        case 3: stage3(in, out, count, stride, factors); break;
        default: stage5(in, out, count, stride, factors); break;
    }
}

// Eight short transforms at once, from `in` to `out` by way of two scratch halves.
template <class Source>
void short_transform(const ShortPlan& plan, const Source& in, const To& out, float* scratch) {
    const std::size_t half = width * plan.length;
    const To ping{scratch, scratch + half, width}, pong{scratch + 2 * half, scratch + 3 * half, width};
    std::size_t stride = 1, left = plan.length;
    To last = ping;
    for (std::size_t s = 0; s < plan.stages; ++s) {
        const std::size_t radix = plan.radix[s], count = left / radix;
        const To to = s + 1 == plan.stages ? out : (s % 2 == 0 ? ping : pong);
        if (s == 0) any_stage(radix, in, to, count, stride, plan.factors[s]);
        else any_stage(radix, From{last.re, last.im, last.step}, to, count, stride, plan.factors[s]);
        last = to;
        stride *= radix;
        left = count;
    }
}

// Turns eight vectors of eight into their columns.
PROOFWALK_INLINE void transpose(V* v) {
    V a[8], b[8];
    for (int n = 0; n < 8; n += 2) {
        a[n] = __builtin_shuffle(v[n], v[n + 1], Order{0, 8, 2, 10, 4, 12, 6, 14});
        a[n + 1] = __builtin_shuffle(v[n], v[n + 1], Order{1, 9, 3, 11, 5, 13, 7, 15});
    }
    for (int n = 0; n < 8; n += 4)
        for (int k = 0; k < 2; ++k) {
            b[n + k] = __builtin_shuffle(a[n + k], a[n + k + 2], Order{0, 1, 8, 9, 4, 5, 12, 13});
            b[n + k + 2] = __builtin_shuffle(a[n + k], a[n + k + 2], Order{2, 3, 10, 11, 6, 7, 14, 15});
        }
    for (int k = 0; k < 4; ++k) {
        v[k] = __builtin_shuffle(b[k], b[k + 4], Order{0, 1, 2, 3, 8, 9, 10, 11});
        v[k + 4] = __builtin_shuffle(b[k], b[k + 4], Order{4, 5, 6, 7, 12, 13, 14, 15});
    }
}

PROOFWALK_INLINE void turn_block(const Plan& plan, std::size_t column, const float* real, const float* imaginary, float* turned_real, float* turned_imaginary) {
    const float* w = plan.turns + column * plan.rows * 2;
    for (std::size_t row = 0; row < plan.rows; row += width) {
        V re[8], im[8];
        for (std::size_t k = 0; k < width; ++k) {
            const V a = load(real + (row + k) * width), b = load(imaginary + (row + k) * width);
            const V c = load(w + (row + k) * 2 * width), s = load(w + (row + k) * 2 * width + width);
            re[k] = a * c - b * s;
            im[k] = a * s + b * c;
        }
        transpose(re);
        transpose(im);
        for (std::size_t k = 0; k < width; ++k) {
            store(turned_real + (column + k) * plan.rows + row, re[k]);
            store(turned_imaginary + (column + k) * plan.rows + row, im[k]);
        }
    }
}

void whole_transform(const Plan& plan, const float* real, const float* imaginary, std::size_t distance, float* out_real, float* out_imaginary, float* turned_real,
                     float* turned_imaginary, float* scratch) {
    // The short transform's result stands in the last quarter pair, its own scratch before it.
    float* column_real = scratch + 4 * width * plan.rows;
    float* column_imaginary = column_real + width * plan.rows;
    for (std::size_t column = 0; column < plan.columns; column += width) {
        const To to{column_real, column_imaginary, width};
        if (distance == 2) short_transform(plan.down, FromPairs{real + 2 * column, 2 * plan.columns}, to, scratch);
        else short_transform(plan.down, From{real + column, imaginary + column, plan.columns}, to, scratch);
        turn_block(plan, column, column_real, column_imaginary, turned_real, turned_imaginary);
    }
    for (std::size_t row = 0; row < plan.rows; row += width)
        short_transform(plan.across, From{turned_real + row, turned_imaginary + row, plan.rows}, To{out_real + row, out_imaginary + row, plan.rows}, scratch);
}

PROOFWALK_INLINE V reversed(V v) { return __builtin_shuffle(v, Order{7, 6, 5, 4, 3, 2, 1, 0}); }

// X[k] = (Z[k] + conj Z[h-k]) / 2 - i w(k) (Z[k] - conj Z[h-k]) / 2, X[h-k] = conj of the same with the sign of the second turned.
void whole_split(std::size_t half, const float* factors, const float* zr, const float* zi, float* spectrum) {
    const float* wi = factors + half / 2 + 1;
    spectrum[0] = zr[0] + zi[0];
    spectrum[1] = 0.0F;
    spectrum[2 * half] = zr[0] - zi[0];
    spectrum[2 * half + 1] = 0.0F;
    std::size_t k = 1;
    for (; k + width <= half / 2; k += width) {
        const std::size_t mirror = half - k - (width - 1);
        const V ar = load(zr + k), ai = load(zi + k), br = reversed(load(zr + mirror)), bi = -reversed(load(zi + mirror));
        const V er = 0.5F * (ar + br), ei = 0.5F * (ai + bi), dr = 0.5F * (ar - br), di = 0.5F * (ai - bi);
        const V c = load(factors + k), s = load(wi + k);
        const V tr = dr * s + di * c, ti = di * s - dr * c;  // -i w d
        const V xr = er + tr, xi = ei + ti, yr = reversed(er - tr), yi = reversed(ti - ei);
        store(spectrum + 2 * k, __builtin_shuffle(xr, xi, Order{0, 8, 1, 9, 2, 10, 3, 11}));
        store(spectrum + 2 * k + width, __builtin_shuffle(xr, xi, Order{4, 12, 5, 13, 6, 14, 7, 15}));
        store(spectrum + 2 * mirror, __builtin_shuffle(yr, yi, Order{0, 8, 1, 9, 2, 10, 3, 11}));
        store(spectrum + 2 * mirror + width, __builtin_shuffle(yr, yi, Order{4, 12, 5, 13, 6, 14, 7, 15}));
    }
    for (; k <= half / 2; ++k) {
        const float ar = zr[k], ai = zi[k], br = zr[half - k], bi = -zi[half - k];
        const float er = 0.5F * (ar + br), ei = 0.5F * (ai + bi), dr = 0.5F * (ar - br), di = 0.5F * (ai - bi);
        const float tr = dr * wi[k] + di * factors[k], ti = di * wi[k] - dr * factors[k];
        spectrum[2 * k] = er + tr;
        spectrum[2 * k + 1] = ei + ti;
        spectrum[2 * (half - k)] = er - tr;
        spectrum[2 * (half - k) + 1] = ti - ei;
    }
}

void whole_join(std::size_t half, const float* factors, const float* spectrum, float scale, float* zr, float* zi) {
    const float* wi = factors + half / 2 + 1;
    zr[0] = scale * (spectrum[0] + spectrum[2 * half]);
    zi[0] = scale * (spectrum[0] - spectrum[2 * half]);
    std::size_t k = 1;
    for (; k + width <= half / 2; k += width) {
        const std::size_t mirror = half - k - (width - 1);
        const V a0 = load(spectrum + 2 * k), a1 = load(spectrum + 2 * k + width), b0 = load(spectrum + 2 * mirror), b1 = load(spectrum + 2 * mirror + width);
        const Order even{0, 2, 4, 6, 8, 10, 12, 14}, odd{1, 3, 5, 7, 9, 11, 13, 15};
        const V ar = __builtin_shuffle(a0, a1, even), ai = __builtin_shuffle(a0, a1, odd);
        const V br = reversed(__builtin_shuffle(b0, b1, even)), bi = -reversed(__builtin_shuffle(b0, b1, odd));
        const V er = ar + br, ei = ai + bi, dr = ar - br, di = ai - bi;
        const V c = load(factors + k), s = load(wi + k);
        const V tr = dr * c + di * s, ti = di * c - dr * s;  // conj(w) d
        store(zr + k, scale * (er - ti));
        store(zi + k, scale * (ei + tr));
        store(zr + mirror, reversed(scale * (er + ti)));
        store(zi + mirror, reversed(scale * (tr - ei)));
    }
    for (; k <= half / 2; ++k) {
        const float ar = spectrum[2 * k], ai = spectrum[2 * k + 1], br = spectrum[2 * (half - k)], bi = -spectrum[2 * (half - k) + 1];
        const float er = ar + br, ei = ai + bi, dr = ar - br, di = ai - bi;
        const float tr = dr * factors[k] + di * wi[k], ti = di * factors[k] - dr * wi[k];
        zr[k] = scale * (er - ti);
        zi[k] = scale * (ei + tr);
        zr[half - k] = scale * (er + ti);
        zi[half - k] = scale * (tr - ei);
    }
}

// Of the analytic signal's spectrum A (0, positive lines twice, half the sum at the ends) the even values are the inverse
// transform of A[k], the odd ones that of A[k] exp(i pi k / half); the line at half the rate adds to the first of either.
void whole_spread(std::size_t half, const float* factors, const float* spectrum, float scale, float* even_real, float* even_imaginary, float* odd_real,
                  float* odd_imaginary) {
    const float* wi = factors + half / 2 + 1;
    const float twice = 2.0F * scale;
    even_real[0] = scale * (spectrum[0] + spectrum[2 * half]);
    odd_real[0] = scale * (spectrum[0] - spectrum[2 * half]);
    even_imaginary[0] = odd_imaginary[0] = 0.0F;
    const Order even{0, 2, 4, 6, 8, 10, 12, 14}, odd{1, 3, 5, 7, 9, 11, 13, 15};
    std::size_t k = 1;
    for (; k + width <= half / 2; k += width) {
        const std::size_t mirror = half - k - (width - 1);
        const V c = load(factors + k), s = load(wi + k), cm = -reversed(c), sm = reversed(s);
        const V a0 = load(spectrum + 2 * k), a1 = load(spectrum + 2 * k + width), b0 = load(spectrum + 2 * mirror), b1 = load(spectrum + 2 * mirror + width);
        const V ar = twice * __builtin_shuffle(a0, a1, even), ai = twice * __builtin_shuffle(a0, a1, odd);
        const V br = twice * __builtin_shuffle(b0, b1, even), bi = twice * __builtin_shuffle(b0, b1, odd);
        store(even_real + k, ar);
        store(even_imaginary + k, ai);
        store(odd_real + k, ar * c + ai * s);
        store(odd_imaginary + k, ai * c - ar * s);
        store(even_real + mirror, br);
        store(even_imaginary + mirror, bi);
        store(odd_real + mirror, br * cm + bi * sm);
        store(odd_imaginary + mirror, bi * cm - br * sm);
    }
    const auto one = [&](std::size_t line, float c, float sine) {
        const float re = twice * spectrum[2 * line], im = twice * spectrum[2 * line + 1];
        even_real[line] = re;
        even_imaginary[line] = im;
        odd_real[line] = re * c + im * sine;
        odd_imaginary[line] = im * c - re * sine;
    };
    for (; k <= half / 2; ++k) {
        one(half - k, -factors[k], wi[k]);
        one(k, factors[k], wi[k]);
    }
}

void whole_interleave(std::size_t half, const float* even, const float* odd, float* out) {
    std::size_t n = 0;
    for (; n + width <= half; n += width) {
        const V a = load(even + n), b = load(odd + n);
        store(out + 2 * n, __builtin_shuffle(a, b, Order{0, 8, 1, 9, 2, 10, 3, 11}));
        store(out + 2 * n + width, __builtin_shuffle(a, b, Order{4, 12, 5, 13, 6, 14, 7, 15}));
    }
    for (; n < half; ++n) {
        out[2 * n] = even[n];
        out[2 * n + 1] = odd[n];
    }
}

void whole_multiply(std::size_t count, const float* a, const float* b, float* out) {
    std::size_t n = 0;
    for (; n + width <= count; n += width) store(out + n, load(a + n) * load(b + n));
    for (; n < count; ++n) out[n] = a[n] * b[n];
}

void whole_accumulate(std::size_t count, const float* x, const float* y, float* gxx, float* gyy, float* gxy) {
    const Order even{0, 2, 4, 6, 8, 10, 12, 14}, odd{1, 3, 5, 7, 9, 11, 13, 15};
    std::size_t n = 0;
    for (; n + width <= count; n += width) {
        const V x0 = load(x + 2 * n), x1 = load(x + 2 * n + width), y0 = load(y + 2 * n), y1 = load(y + 2 * n + width);
        const V xr = __builtin_shuffle(x0, x1, even), xi = __builtin_shuffle(x0, x1, odd);
        const V yr = __builtin_shuffle(y0, y1, even), yi = __builtin_shuffle(y0, y1, odd);
        store(gxx + n, load(gxx + n) + xr * xr + xi * xi);
        store(gyy + n, load(gyy + n) + yr * yr + yi * yi);
        const V re = xr * yr + xi * yi, im = xr * yi - xi * yr;
        store(gxy + 2 * n, load(gxy + 2 * n) + __builtin_shuffle(re, im, Order{0, 8, 1, 9, 2, 10, 3, 11}));
        store(gxy + 2 * n + width, load(gxy + 2 * n + width) + __builtin_shuffle(re, im, Order{4, 12, 5, 13, 6, 14, 7, 15}));
    }
    for (; n < count; ++n) {
        const float xr = x[2 * n], xi = x[2 * n + 1], yr = y[2 * n], yi = y[2 * n + 1];
        gxx[n] += xr * xr + xi * xi;
        gyy[n] += yr * yr + yi * yi;
        gxy[2 * n] += xr * yr + xi * yi;
        gxy[2 * n + 1] += xr * yi - xi * yr;
    }
}

}  // namespace
