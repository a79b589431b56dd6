//! Flights along conics in lanes: Kepler's equation in universal variables for several states side by side.

use std::f64::consts::TAU;

use crate::conic::kepler::cubic_start;
use crate::numerics::lanes::elementary::{cube_root, eight_terms, logarithm, rough_arc_tangent, within_half_turn};
use crate::numerics::lanes::{Lane, Mask};

/// Turns of the search before a flight is left to be flown alone.
const MOST_TURNS: u32 = 12;

/// tanh 1.32: beyond it on the way in, what a hyperbola's functions keep shrinks by more than a factor of 14.
const INCOMING: f64 = 0.866;

/// A state (m, m/s) and a time of flight (s), several side by side.
#[derive(Clone, Copy)]
pub(super) struct Departure<L> {
    pub(super) place: [L; 3],
    pub(super) velocity: [L; 3],
    pub(super) time: L,
}

/// Where flights end, and which of them were flown.
#[derive(Clone, Copy)]
pub(super) struct Arrival<L: Lane> {
    pub(super) place: [L; 3],
    pub(super) velocity: [L; 3],
    pub(super) flown: L::Mask,
}

/// What Kepler's equation needs of the start, with time counted forwards and less than a period.
#[derive(Clone, Copy)]
struct Path<L> {
    gm: L,
    per_gm: L,
    /// gm over the semi-major axis, m²/s²
    alpha: L,
    /// √|α| and what one divided by it is
    root: L,
    per_root: L,
    radius: L,
    per_radius: L,
    /// r · v, m²/s
    sigma: L,
    time: L,
    /// 1, or −1 where the way is flown with the velocity turned round
    sign: L,
}

/// The universal functions U0 to U3 of α and s. [Battin1999], section 4.5
#[derive(Clone, Copy)]
struct Universal<L>([L; 4]);

/// The flights along ellipses that start and end as most do: one correction of a start from Kepler's equation suffices.
#[inline(always)]
pub(super) fn along_ellipses<L: Lane>(gm: f64, departure: &Departure<L>) -> Arrival<L> {
    let path = Path::new(gm, departure);
    let elliptic = path.is_elliptic();
    if !elliptic.any() {
        return Arrival { place: departure.place, velocity: departure.velocity, flown: elliptic };
    }
    let (s, ahead) = path.start_on_ellipse();
    let u = Universal::near(path.alpha, s);
    let slopes = path.slopes(&u);
    let (step, last) = path.correction(s, slopes);
    path.end(departure, u.moved(path.alpha, step), elliptic & ahead & path.fits() & last)
}

/// Flights along any conic, by a search that is kept between brackets.
#[inline(always)]
pub(super) fn along_conics<L: Lane>(gm: f64, departure: &Departure<L>) -> Arrival<L> {
    let path = Path::new(gm, departure);
    let zero = L::splat(0.0);
    let (mut low, mut high) = (zero, L::select(path.alpha.more(zero), path.most(), L::splat(f64::INFINITY)));
    let mut s = path.start().min(high);
    let mut searched = path.fits() & !path.is_incoming();
    let mut flown = zero.less(zero);
    let (mut u, mut step) = (Universal([zero; 4]), zero);
    let mut turn = 0;
    while turn < MOST_TURNS && searched.any() {
        let here = Universal::near(path.alpha, s);
        let slopes = path.slopes(&here);
        let [residual, radius, sigma, _] = slopes;
        let reach = L::splat(Universal::<L>::REACH);
        searched = searched & (path.alpha * s * s).abs().at_most(reach) & residual.is_finite();
        let (by_series, last) = path.correction(s, slopes);
        let now = searched & last;
        let mut k = 0;
        while k < 4 {
            u.0[k] = L::select(now, here.0[k], u.0[k]);
            k += 1;
        }
        step = L::select(now, by_series, step);
        flown = flown | now;
        searched = searched & !now;
        if !searched.any() {
            break;
        }
        let beyond = residual.more(zero);
        high = L::select(beyond, s, high);
        low = L::select(beyond, low, s);
        // A step of the Laguerre kind where the series is not to be trusted. [Conway1986]
        let root = (radius * radius * 16.0 - residual * sigma * 20.0).abs().sqrt();
        let far = residual * -5.0 / (radius + root);
        let chosen = L::select((by_series - far).abs().at_most(far.abs() * 0.1), by_series, far);
        let next = s + chosen;
        let halved = L::select(low.more(zero), (low + high) * 0.5, high * 0.125);
        let instead = L::select(high.is_finite(), halved, s + s);
        s = L::select(next.more(low) & next.less(high), next, instead);
        turn += 1;
    }
    path.end(departure, u.moved(path.alpha, step), flown)
}

impl<L: Lane> Path<L> {
    #[inline(always)]
    fn new(gm: f64, departure: &Departure<L>) -> Self {
        let Departure { place: r, velocity: v, time: dt } = departure;
        let (zero, one) = (L::splat(0.0), L::splat(1.0));
        let radius = dot(r, r).sqrt();
        let per_radius = one / radius;
        let alpha = per_radius.mul_sub(L::splat(2.0 * gm), dot(v, v));
        let root = alpha.abs().sqrt();
        let per_root = one / root;
        let per_gm = L::splat(1.0 / gm);
        let time = dt.abs();
        // Without whole revolutions, the shorter way round.
        let turns = (time * (alpha * root) * (per_gm * (1.0 / TAU))).round();
        let period = (per_root * per_root) * (per_root * (TAU * gm));
        let reduced = L::select(alpha.more(zero), turns.neg_mul_add(period, time), time);
        // Backwards in time is forwards with the velocity turned round: one sign of everything that follows.
        let sign = one.copysign(*dt) * one.copysign(reduced);
        let sigma = sign * dot(r, v);
        Self { gm: L::splat(gm), per_gm, alpha, root, per_root, radius, per_radius, sigma, time: reduced.abs(), sign }
    }

    /// Whether time is left to fly, and less than a revolution takes.
    #[inline(always)]
    fn fits(&self) -> L::Mask {
        let zero = L::splat(0.0);
        let mean = self.time * (self.alpha * self.root) * self.per_gm;
        self.time.more(zero) & (mean.less(L::splat(0.75 * TAU))) & self.time.is_finite()
    }

    /// Whether a start comes from Kepler's equation.
    #[inline(always)]
    fn is_elliptic(&self) -> L::Mask {
        (self.alpha * self.radius).more(self.gm * 1e-3)
    }

    /// Whether a hyperbola is entered so far out that the universal functions, counted from there, would cancel: its
    /// anomaly H lies below −1.32.
    #[inline(always)]
    fn is_incoming(&self) -> L::Mask {
        let cosine = self.alpha.neg_mul_add(self.radius, self.gm);
        self.alpha.less(L::splat(0.0)) & (self.sigma * self.root).less(cosine * -INCOMING)
    }

    /// Whether the time is so short that the distance changes little.
    #[inline(always)]
    fn is_short(&self) -> L::Mask {
        let short = self.time * self.per_radius;
        let little = self.radius * 1e-3;
        (self.sigma.abs() * short).at_most(little) & (self.gm * short * short).at_most(little)
    }

    /// A bound on s that a whole revolution gives.
    #[inline(always)]
    fn most(&self) -> L {
        self.per_root * (TAU * (1.0 + 4.0 * f64::EPSILON))
    }

    /// A first s on an ellipse, from Kepler's equation, and whether it is to be trusted.
    #[inline(always)]
    fn start_on_ellipse(&self) -> (L, L::Mask) {
        let scale = self.root * self.per_gm;
        let sine = self.sigma * scale;
        let cosine = (self.alpha * self.radius).neg_mul_add(self.per_gm, L::splat(1.0));
        let e = sine.mul_add(sine, cosine * cosine).sqrt().min(L::splat(1.0 - f64::EPSILON));
        let first = rough_arc_tangent(sine, cosine);
        let mean = (self.time * self.alpha).mul_add(scale, first - sine);
        let m = within_half_turn(mean);
        let ahead = mean + (cubic_start(e, m.abs()).copysign(m) - m) - first;
        ((ahead * self.per_root).min(self.most()), ahead.more(L::splat(1e-3)) & !self.is_short())
    }

    /// A first s: on ellipses from Kepler's equation; else from the cubic that the equation becomes on a parabola, and no
    /// more than growth on a hyperbola allows.
    #[inline(always)]
    fn start(&self) -> L {
        let (zero, one) = (L::splat(0.0), L::splat(1.0));
        let short = self.time * self.per_radius;
        // With s = y − σ/gm the square goes: y³ + a y = b.
        let shift = self.sigma * self.per_gm;
        let size = self.radius * self.per_gm;
        let square = shift * shift;
        let p = (size * 2.0 - square).max(zero);
        let half = (self.time * self.per_gm).mul_add(L::splat(3.0), shift * (size * 3.0 - square));
        let b = half.abs();
        let y = cube_root(b + b.mul_add(b, p * p * p).sqrt());
        let y2 = y * y;
        // Of y − p/y, written so that the difference does not cancel.
        let cubic = ((b + b) / (y2 + p + p * p / y2)).copysign(half) - shift;
        let cubic = L::select(cubic.more(zero), cubic, short);
        // gm U3 ≤ t with U3 ≥ (sinh x)/(−α)^(3/2)/6.9 beyond x = 1, counted from periapsis, which lies at most x = 1.4
        // ahead: further off the flight is counted from periapsis itself.
        let ahead = L::select(self.sigma.less(zero), L::splat(1.4), zero);
        let sinh = self.time * 6.9 * (self.root * self.root) * (self.root * self.per_gm);
        let growth = (logarithm(sinh + sinh.mul_add(sinh, one).sqrt()) + ahead) * self.per_root;
        let long = (self.alpha * cubic * cubic).less(-one);
        let open = L::select(long, cubic.min(growth), cubic);
        let mut s = L::select(self.is_short(), short, open);
        let elliptic = self.is_elliptic();
        if elliptic.any() {
            let (on_ellipse, ahead) = self.start_on_ellipse();
            s = L::select(elliptic, L::select(ahead, on_ellipse, short), s);
        }
        s
    }

    /// Time reached less the time sought, s, and its first three derivatives by s; the first is the distance.
    #[inline(always)]
    fn slopes(&self, &Universal([u0, u1, u2, u3]): &Universal<L>) -> [L; 4] {
        let drive = self.alpha.neg_mul_add(self.radius, self.gm);
        [
            self.radius.mul_add(u1, self.sigma.mul_add(u2, self.gm.mul_sub(u3, self.time))),
            self.radius.mul_add(u0, self.sigma.mul_add(u1, self.gm * u2)),
            self.sigma.mul_add(u0, drive * u1),
            drive.mul_sub(u0, self.alpha * self.sigma * u1),
        ]
    }

    /// A step to the root at s, and where what it leaves is below the last place.
    #[inline(always)]
    fn correction(&self, s: L, [residual, radius, sigma, third]: [L; 4]) -> (L, L::Mask) {
        // The series of time by the step turned round, to the fifth power: one division. [Abramowitz1964], 3.6.25
        let one = L::splat(1.0);
        let per = one / radius;
        let newton = residual * per;
        let (a, b) = (sigma * per * 0.5, third * per * (1.0 / 6.0));
        let (c, d) = (self.alpha * a * (-1.0 / 12.0), self.alpha * b * (-1.0 / 20.0));
        let a2 = a * a;
        let second = a2 + a2 - b;
        let cubed = a.mul_add((a2 - b) * 5.0, c);
        let fourth = a2.mul_add((a2 + a2 - b * 3.0) * 7.0, (b.mul_add(b, a * (c + c))).mul_add(L::splat(3.0), -d));
        let squared = newton * newton;
        let high = newton.mul_add(fourth, cubed);
        let low = newton.mul_add(second, a);
        let step = -(newton * squared.mul_add(newton * high, newton.mul_add(low, one)));
        // The step in units of the length on which the curve bends, squared: what is left after a step of the fifth
        // order is of the order of its square times the step.
        let square = step * step;
        let bend = square * sigma.mul_add(sigma, radius * third.abs());
        let limit = radius * radius;
        let last = (bend * bend * step.abs()).at_most(s * 1e-16 * (limit * limit))
            & bend.at_most(limit * 1e-3)
            & (self.alpha.abs() * square).at_most(L::splat(1e-3))
            & (s + step).more(L::splat(0.0));
        (step, last)
    }

    #[inline(always)]
    fn end(&self, departure: &Departure<L>, u: Universal<L>, flown: L::Mask) -> Arrival<L> {
        let Universal([u0, u1, u2, u3]) = u;
        let one = L::splat(1.0);
        let pull = self.gm * u2;
        let radius = self.radius.mul_add(u0, self.sigma.mul_add(u1, pull));
        let per_end = one / radius;
        let f = pull.neg_mul_add(self.per_radius, one);
        let ahead = self.radius.mul_add(u1, self.sigma * u2);
        let back = self.gm.neg_mul_add(u3, self.time);
        let g = self.sign * L::select(self.sigma.less(L::splat(0.0)), back, ahead);
        let f_rate = -(self.sign * self.gm * u1 * (self.per_radius * per_end));
        let g_rate = pull.neg_mul_add(per_end, one);
        let (mut place, mut velocity) = (departure.place, departure.velocity);
        let mut sum = L::splat(0.0);
        let mut k = 0;
        while k < 3 {
            let (r, v) = (departure.place[k], departure.velocity[k]);
            place[k] = f.mul_add(r, g * v);
            velocity[k] = f_rate.mul_add(r, g_rate * v);
            // A number that is none stays one in this sum, whatever is added.
            sum = sum + place[k].abs() + velocity[k].abs();
            k += 1;
        }
        Arrival { place, velocity, flown: flown & radius.more(L::splat(0.0)) & sum.is_finite() }
    }
}

impl<L: Lane> Universal<L> {
    /// Largest |α s²|.
    const REACH: f64 = 40.0;

    /// The functions at `s` for `alpha`: the argument is halved twice, then doubled back by identities whose terms do not
    /// cancel.
    #[inline(always)]
    fn near(alpha: L, s: L) -> Self {
        let s = s * 0.25;
        let square = s * s;
        let psi = alpha * square;
        let psi2 = psi * psi;
        let psi4 = psi2 * psi2;
        // Fitted at Chebyshev's nodes with 40 digits: (1 − cos x)/x² and (x − sin x)/x³ of x² up to 2.5, off by less
        // than 7e-18.
        let powers = [psi, psi2, psi4];
        let psi8 = psi4 * psi4;
        let c2 = psi8.mul_add(
            L::splat(1.5620458112566173e-16),
            eight_terms(
                powers,
                [
                    0.5,
                    -0.041666666666666644,
                    0.001388888888888889,
                    -2.4801587301634342e-5,
                    2.7557319223996074e-7,
                    -2.0876756716911215e-9,
                    1.1470745539081868e-11,
                    -4.7800553670519984e-14,
                ],
            ),
        );
        let c3 = psi8.mul_add(
            L::splat(8.221179220162105e-18),
            eight_terms(
                powers,
                [
                    0.16666666666666666,
                    -0.008333333333333331,
                    0.0001984126984126984,
                    -2.7557319224008292e-6,
                    2.5052108385446147e-8,
                    -1.6059043707795526e-10,
                    7.647163706320878e-13,
                    -2.81173250732874e-15,
                ],
            ),
        );
        let one = L::splat(1.0);
        let third = s * c3;
        Universal([psi.neg_mul_add(c2, one), psi.neg_mul_add(third, s), square * c2, square * third])
            .doubled(alpha)
            .doubled(alpha)
    }

    /// The functions at twice the argument.
    #[inline(always)]
    fn doubled(self, alpha: L) -> Self {
        let Universal([u0, u1, _, u3]) = self;
        let twice = u1 + u1;
        let new = twice * u1;
        let u2 = self.0[2];
        Universal([alpha.neg_mul_add(new, L::splat(1.0)), u0 * twice, new, twice.mul_add(u2, u3 + u3)])
    }

    /// The functions at s + `ds`, for a step with |α ds²| up to 1e-3.
    #[inline(always)]
    fn moved(self, alpha: L, ds: L) -> Self {
        let Universal([u0, u1, u2, u3]) = self;
        // Three terms of each series leave less than 1e-16 of the step; then the sum of two arguments.
        let square = ds * ds;
        let psi = alpha * square;
        let d2 = square * psi.neg_mul_add(psi.neg_mul_add(L::splat(1.0 / 720.0), L::splat(1.0 / 24.0)), L::splat(0.5));
        let d3 = square
            * ds
            * psi.neg_mul_add(psi.neg_mul_add(L::splat(1.0 / 5040.0), L::splat(1.0 / 120.0)), L::splat(1.0 / 6.0));
        let d1 = alpha.neg_mul_add(d3, ds);
        Universal([
            alpha.neg_mul_add(u0.mul_add(d2, u1 * d1), u0),
            u1 + u0.mul_sub(d1, alpha * u1 * d2),
            u2 + u1.mul_add(d1, u0 * d2),
            u3 + u1.mul_add(d2, u2.mul_add(d1, d3)),
        ])
    }
}

#[inline(always)]
fn dot<L: Lane>(a: &[L; 3], b: &[L; 3]) -> L {
    a[2].mul_add(b[2], a[1].mul_add(b[1], a[0] * b[0]))
}
