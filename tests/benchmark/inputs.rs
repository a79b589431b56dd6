//! The inputs of the benchmarks, the same bits everywhere: only integer arithmetic and correctly rounded + − × ÷ √, in
//! the order written. Included by the benches of the engine and by the test that holds the bit patterns.

/// Seed of a problem's inputs.
pub const KEPLER_EQUATION_SEED: u64 = 101;
/// Seed of a problem's inputs.
pub const KEPLER_PROPAGATION_SEED: u64 = 202;
/// Seed of a problem's inputs.
pub const LAMBERT_SEED: u64 = 303;
/// Seed of a problem's inputs.
pub const LAMBERT_MULTIREV_SEED: u64 = 404;

/// Double number `k` (counted from 1) of the SplitMix64 stream of `seed`, in [0, 1).
pub fn uniform(seed: u64, k: u64) -> f64 {
    let mut z = seed.wrapping_add(k.wrapping_mul(0x9E37_79B9_7F4A_7C15));
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^= z >> 31;
    (z >> 11) as f64 * (1.0 / 9_007_199_254_740_992.0)
}

/// Row `i` of `width` uniforms.
pub fn row<const W: usize>(seed: u64, i: u64) -> [f64; W] {
    std::array::from_fn(|j| uniform(seed, i * W as u64 + j as u64 + 1))
}

/// Eccentricity and mean anomaly (rad) of item `i`.
pub fn kepler_equation(seed: u64, i: u64) -> (f64, f64) {
    let u: [f64; 2] = row(seed, i);
    let w = 0.02 + 0.98 * ((u[0] - 0.7) / 0.3);
    let e = if u[0] < 0.7 { 0.9 * (u[0] / 0.7) } else { 1.0 - 0.1 * (w * w * w) };
    (e, (2.0 * u[1] - 1.0) * std::f64::consts::PI)
}

/// Position, velocity and time of item `i`, with a gravitational parameter of 1.
pub fn kepler_propagation(seed: u64, i: u64) -> ([f64; 3], [f64; 3], f64) {
    let u: [f64; 9] = row(seed, i);
    let w1 = 0.02 + 0.98 * ((u[0] - 0.6) / 0.2);
    let w2 = 0.02 + 0.98 * ((u[0] - 0.8) / 0.2);
    let e = if u[0] < 0.6 {
        0.9 * (u[0] / 0.6)
    } else if u[0] < 0.8 {
        1.0 - 0.1 * (w1 * w1 * w1)
    } else {
        1.0 + 2.0 * (w2 * w2 * w2)
    };
    let q = 0.5 + u[1];
    let t = 2.0 * u[2] - 1.0;
    let den = 1.0 + t * t;
    let mut c = (1.0 - t * t) / den;
    let s = (2.0 * t) / den;
    if u[3] < 0.5 && e < 1.0 {
        c = -c;
    }
    let p = q * (1.0 + e);
    let rad = p / (1.0 + e * c);
    let k = (1.0 / p).sqrt();
    let (x, y) = (rad * c, rad * s);
    let (vx, vy) = (-(k * s), k * (e + c));
    let one = (1.0 - e).abs();
    let span = (1.0 / (one * one.sqrt())).min(100.0);
    let dt = (2.0 * u[4] - 1.0) * ((4.0 * std::f64::consts::PI) * (q * q.sqrt()) * span);
    let a: [f64; 4] = std::array::from_fn(|j| 2.0 * u[5 + j] - 1.0);
    let n = (a[0] * a[0] + a[1] * a[1] + a[2] * a[2] + a[3] * a[3]).sqrt();
    let [q0, q1, q2, q3] = a.map(|z| z / n);
    let ax = [1.0 - 2.0 * (q2 * q2 + q3 * q3), 2.0 * (q1 * q2 + q0 * q3), 2.0 * (q1 * q3 - q0 * q2)];
    let ay = [2.0 * (q1 * q2 - q0 * q3), 1.0 - 2.0 * (q1 * q1 + q3 * q3), 2.0 * (q2 * q3 + q0 * q1)];
    (std::array::from_fn(|j| x * ax[j] + y * ay[j]), std::array::from_fn(|j| vx * ax[j] + vy * ay[j]), dt)
}

/// Two places, time of flight and whole revolutions of item `i`, with a gravitational parameter of 1, prograde about +z.
pub fn lambert(seed: u64, i: u64, multi: bool) -> ([f64; 3], [f64; 3], f64, f64) {
    let u: [f64; 10] = row(seed, i);
    let norm = |d: [f64; 3]| (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt();
    let place = |k: usize| {
        let v = [2.0 * u[k] - 1.0, 2.0 * u[k + 1] - 1.0, 2.0 * u[k + 2] - 1.0];
        let (n, m) = (norm(v), 0.5 + 1.5 * u[k + 3]);
        v.map(|z| m * (z / n))
    };
    let (r1, r2) = (place(0), place(4));
    let s = 0.5 * (norm(r1) + norm(r2) + norm(std::array::from_fn(|j| r2[j] - r1[j])));
    let (revs, tn) = if multi {
        let revs = 1.0 + (5.0 * u[8]).floor();
        (revs, (revs + 1.0) * std::f64::consts::PI + u[9] * (3.0 * std::f64::consts::PI))
    } else {
        (0.0, 0.1 + 5.9 * u[8])
    };
    (r1, r2, tn * (0.5 * (s * s * s)).sqrt(), revs)
}

/// Start `i` of a batch about `start`: the first as it is, every other with each component moved by up to `share` of itself.
pub fn moved<const W: usize>(start: [f64; W], seed: u64, i: u64, share: f64) -> [f64; W] {
    if i == 0 {
        return start;
    }
    std::array::from_fn(|j| start[j] * (1.0 + share * (2.0 * uniform(seed, i * W as u64 + j as u64 + 1) - 1.0)))
}
