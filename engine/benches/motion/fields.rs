//! The equations of motion of the problems, as `tests/benchmark/trajectories.json` defines them.

#![allow(
    clippy::needless_range_loop,
    reason = "loops without closures, which would not inherit the lanes' instructions"
)]

use serde_json::Value;
use visviva_engine::motion::{Crossing, Events, Field, Watched};
use visviva_engine::numerics::lanes::{Lane, exponential};

use super::measure::number;

#[inline(always)]
fn dot<L: Lane>(a: &[L; 3], b: &[L; 3]) -> L {
    a[0].mul_add(b[0], a[1].mul_add(b[1], a[2] * b[2]))
}

/// A point mass with its second zonal harmonic.
pub struct Oblate {
    mu: f64,
    c: f64,
}

impl Oblate {
    pub fn new(mu: f64, j2: f64, radius: f64) -> Self {
        Self { mu, c: 1.5 * j2 * radius * radius }
    }
}

impl Field<3> for Oblate {
    type Prepared<L: Lane> = ();

    #[inline(always)]
    fn prepare<L: Lane>(&self, _time: L) {}

    #[inline(always)]
    fn acceleration<L: Lane>(&self, (): &(), _time: L, x: &[L; 3], _v: &[L; 3]) -> [L; 3] {
        let inverse = L::splat(1.0) / dot(x, x);
        let pull = inverse * inverse.sqrt() * (-self.mu);
        let k = inverse * self.c;
        let z5 = x[2] * x[2] * inverse * 5.0;
        let f = pull * (k * (L::splat(1.0) - z5) + 1.0);
        [f * x[0], f * x[1], pull * (k * (L::splat(3.0) - z5) + 1.0) * x[2]]
    }
}

/// Two bodies on circles about their centre of mass, in axes that turn with them.
pub struct Arenstorf {
    pub share: f64,
}

impl Field<2> for Arenstorf {
    type Prepared<L: Lane> = ();

    #[inline(always)]
    fn prepare<L: Lane>(&self, _time: L) {}

    #[inline(always)]
    fn acceleration<L: Lane>(&self, (): &(), _time: L, x: &[L; 2], v: &[L; 2]) -> [L; 2] {
        let a = x[0] + self.share;
        let b = a - 1.0;
        let y = x[1] * x[1];
        let (d1, d2) = (a.mul_add(a, y), b.mul_add(b, y));
        let k1 = L::splat(1.0 - self.share) / (d1 * d1.sqrt());
        let k2 = L::splat(self.share) / (d2 * d2.sqrt());
        let ax = v[1].mul_add(L::splat(2.0), x[0]) - k1 * a - k2 * b;
        let ay = v[0].mul_add(L::splat(-2.0), x[1]) - (k1 + k2) * x[1];
        [ax, ay]
    }
}

/// Seven bodies in a plane that pull one another.
pub struct Pleiades {
    pub mass: [f64; 7],
}

impl Field<14> for Pleiades {
    type Prepared<L: Lane> = ();

    #[inline(always)]
    fn prepare<L: Lane>(&self, _time: L) {}

    #[inline(always)]
    fn acceleration<L: Lane>(&self, (): &(), _time: L, x: &[L; 14], _v: &[L; 14]) -> [L; 14] {
        let mut a = [L::splat(0.0); 14];
        for i in 0..7 {
            for j in 0..i {
                let (dx, dy) = (x[j] - x[i], x[7 + j] - x[7 + i]);
                let square = dx.mul_add(dx, dy * dy);
                let k = L::splat(1.0) / (square * square.sqrt());
                let (fx, fy) = (k * dx, k * dy);
                a[i] = fx.mul_add(L::splat(self.mass[j]), a[i]);
                a[7 + i] = fy.mul_add(L::splat(self.mass[j]), a[7 + i]);
                a[j] = fx.mul_add(L::splat(-self.mass[i]), a[j]);
                a[7 + j] = fy.mul_add(L::splat(-self.mass[i]), a[7 + j]);
            }
        }
        a
    }
}

/// A pass through an exponential atmosphere.
pub struct Pass {
    mu: f64,
    radius: f64,
    scale_height: f64,
    drag: f64,
}

impl Pass {
    pub fn new(d: &Value) -> Self {
        Self {
            mu: number(&d["mu"]),
            radius: number(&d["radius"]),
            scale_height: number(&d["scale_height"]),
            drag: 0.5 * number(&d["rho0"]) * number(&d["cda_over_m"]),
        }
    }
}

impl Field<3> for Pass {
    type Prepared<L: Lane> = ();

    #[inline(always)]
    fn prepare<L: Lane>(&self, _time: L) {}

    #[inline(always)]
    fn acceleration<L: Lane>(&self, (): &(), _time: L, x: &[L; 3], v: &[L; 3]) -> [L; 3] {
        let square = dot(x, x);
        let r = square.sqrt();
        let k = L::splat(-self.mu) / (square * r);
        let depth = (L::splat(self.radius) - r) * (1.0 / self.scale_height);
        let d = exponential(depth) * dot(v, v).sqrt() * (-self.drag);
        [k.mul_add(x[0], d * v[0]), k.mul_add(x[1], d * v[1]), k.mul_add(x[2], d * v[2])]
    }
}

/// Crossings of a height, either way, and the lowest point.
pub struct PassEvents {
    pub radius: f64,
}

impl Events<3, 2> for PassEvents {
    fn watched(&self) -> [Watched; 2] {
        [Watched::noted(Crossing::Either), Watched::noted(Crossing::Rising)]
    }

    #[inline(always)]
    fn values<L: Lane>(&self, _time: L, x: &[L; 3], v: &[L; 3]) -> [L; 2] {
        [dot(x, x).sqrt() - self.radius, dot(x, v)]
    }
}

/// A planet on a fixed ellipse.
struct Planet {
    motion: f64,
    anomaly: f64,
    eccentricity: f64,
    major: [f64; 3],
    minor: [f64; 3],
    mu: f64,
}

/// The Sun, and eight planets on fixed ellipses.
pub struct Cruise {
    mu: f64,
    planets: [Planet; 8],
}

impl Cruise {
    pub fn new(constants: &Value, start_days: f64) -> Self {
        let mu = number(&constants["mu_sun"]);
        let names = ["mercury", "venus", "earth", "mars", "jupiter", "saturn", "uranus", "neptune"];
        let planets = names.map(|name| {
            let p = &constants["planets"][name];
            let of = |key: &str| number(&p[key]);
            let degrees = std::f64::consts::PI / 180.0;
            let a = of("a_au") * number(&constants["au"]);
            let (i, node) = (of("i_deg") * degrees, of("node_deg") * degrees);
            let w = (of("longitude_of_perihelion_deg") - of("node_deg")) * degrees;
            let e = of("e");
            let b = a * (1.0 - e * e).sqrt();
            let (cw, sw, co, so, ci, si) = (w.cos(), w.sin(), node.cos(), node.sin(), i.cos(), i.sin());
            let motion = (mu / (a * a * a)).sqrt();
            Planet {
                motion,
                anomaly: (of("mean_longitude_deg") - of("longitude_of_perihelion_deg")) * degrees
                    + motion * start_days * number(&constants["day"]),
                eccentricity: e,
                major: [cw * co - sw * so * ci, cw * so + sw * co * ci, sw * si].map(|x| a * x),
                minor: [-sw * co - cw * so * ci, -sw * so + cw * co * ci, cw * si].map(|x| b * x),
                mu: of("mu"),
            }
        });
        Self { mu, planets }
    }
}

/// Sine and cosine of an angle between −π and π, by their series about the nearest multiple of π/2.
#[inline(always)]
fn sine_and_cosine<L: Lane>(angle: L) -> (L, L) {
    let turns = (angle * std::f64::consts::FRAC_2_PI).round();
    let r = turns.neg_mul_add(L::splat(std::f64::consts::FRAC_PI_2), angle);
    let r = turns.neg_mul_add(L::splat(6.123_233_995_736_766e-17), r);
    let z = r * r;
    let s = [
        -1.0 / 6.0,
        1.0 / 120.0,
        -1.0 / 5040.0,
        1.0 / 362_880.0,
        -1.0 / 39_916_800.0,
        1.0 / 6_227_020_800.0,
        -1.0 / 1_307_674_368_000.0,
    ];
    let c = [
        -0.5,
        1.0 / 24.0,
        -1.0 / 720.0,
        1.0 / 40_320.0,
        -1.0 / 3_628_800.0,
        1.0 / 479_001_600.0,
        -1.0 / 87_178_291_200.0,
        1.0 / 20_922_789_888_000.0,
    ];
    let sine = (r * z).mul_add(z.polynomial(s), r);
    let cosine = z.mul_add(z.polynomial(c), L::splat(1.0));
    // Odd quarter turns swap them; the half-turns change signs.
    let odd = L::splat(0.5).less((turns * 0.5 - (turns * 0.5).round()).abs() * 2.0);
    let (a, b) = (L::select(odd, cosine, sine), L::select(odd, sine, cosine));
    let minus_a = L::splat(1.5).less(turns) | turns.less(L::splat(-0.5));
    let minus_b = L::splat(0.5).less(turns.abs());
    let b_odd_negative = turns.less(L::splat(0.0));
    let b = L::select(minus_b, L::select(odd & b_odd_negative, b, -b), b);
    (L::select(minus_a, -a, a), b)
}

impl Planet {
    #[inline(always)]
    fn at<L: Lane>(&self, time: L) -> [L; 3] {
        let whole = std::f64::consts::TAU;
        let mean = time.mul_add(L::splat(self.motion), L::splat(self.anomaly));
        let mean = (mean * (1.0 / whole)).round().neg_mul_add(L::splat(whole), mean);
        let e = self.eccentricity;
        let (s, c) = sine_and_cosine(mean);
        let mut anomaly = mean + s * e / (L::splat(1.0) - c * e);
        // Eccentricities up to 0.21: two steps of the third order leave less than a rounding.
        let (mut s, mut c) = sine_and_cosine(anomaly);
        for _ in 0..2 {
            let f = s.neg_mul_add(L::splat(e), anomaly) - mean;
            let f1 = c.neg_mul_add(L::splat(e), L::splat(1.0));
            let f2 = s * e;
            let first = -f / f1;
            let step = -f / (first * f2 * 0.5 + f1);
            anomaly = anomaly + step;
            // The step is below 1e-2: its series turns sine and cosine along.
            let z = step * step;
            let cd = z.mul_add(
                z.mul_add(z.mul_add(L::splat(-1.0 / 720.0), L::splat(1.0 / 24.0)), L::splat(-0.5)),
                L::splat(1.0),
            );
            let sd = step * z.mul_add(z.mul_add(L::splat(1.0 / 120.0), L::splat(-1.0 / 6.0)), L::splat(1.0));
            (s, c) = (s * cd + c * sd, c * cd - s * sd);
        }
        let c = c - e;
        let mut place = [c; 3];
        for d in 0..3 {
            place[d] = c * self.major[d] + s * self.minor[d];
        }
        place
    }
}

impl Cruise {
    #[inline(always)]
    fn pulls<L: Lane>(&self, places: &[[L; 3]; 8], x: &[L; 3], sum: &mut [L; 3]) {
        for i in 0..8 {
            let place = &places[i];
            let away = [place[0] - x[0], place[1] - x[1], place[2] - x[2]];
            let (near, far) = (dot(&away, &away), dot(place, place));
            let a = L::splat(self.planets[i].mu) / (near * near.sqrt());
            let b = L::splat(self.planets[i].mu) / (far * far.sqrt());
            for d in 0..3 {
                sum[d] = sum[d] + a * away[d] - b * place[d];
            }
        }
    }
}

impl Field<3> for Cruise {
    type Prepared<L: Lane> = [[L; 3]; 8];

    const PARTS: bool = true;

    #[inline(always)]
    fn prepare<L: Lane>(&self, time: L) -> [[L; 3]; 8] {
        let mut places = [[time; 3]; 8];
        for i in 0..8 {
            places[i] = self.planets[i].at(time);
        }
        places
    }

    #[inline(always)]
    fn acceleration<L: Lane>(&self, places: &[[L; 3]; 8], _time: L, x: &[L; 3], _v: &[L; 3]) -> [L; 3] {
        let square = dot(x, x);
        let k = L::splat(-self.mu) / (square * square.sqrt());
        let mut sum = [k * x[0], k * x[1], k * x[2]];
        self.pulls(places, x, &mut sum);
        sum
    }

    #[inline(always)]
    fn part<L: Lane>(&self, places: &[[L; 3]; 8], _time: L, x: &[L; 3], _v: &[L; 3]) -> [L; 3] {
        let mut sum = [L::splat(0.0); 3];
        self.pulls(places, x, &mut sum);
        sum
    }
}
