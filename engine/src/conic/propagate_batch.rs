//! Many states flown along their conics: the same bits as one by one, faster for the company.

#![allow(
    clippy::needless_range_loop,
    clippy::needless_bitwise_bool,
    reason = "plain loops and conditions without branches go side by side"
)]

use crate::conic::propagate::Path;
use crate::conic::universal::Universal;
use crate::conic::{ConicError, State, invariants, propagate};

/// Flights in a block.
const BLOCK: usize = 64;

type Lane = [f64; BLOCK];

/// The end of each flight of a state through a time (s, either sign), given to `answer` with its number in the order of
/// `flights`.
///
/// The same bits and errors as [`propagate`]; `gm` in m³/s², above 0. A block of flights goes through the solution stage
/// by stage; what is no ordinary flight along an ellipse is flown alone.
#[inline]
pub fn propagate_batch(
    gm: f64,
    flights: impl IntoIterator<Item = (State, f64)>,
    mut answer: impl FnMut(usize, Result<State, ConicError>),
) {
    let mut flights = flights.into_iter();
    let mut block = Block::new(gm);
    let mut first = 0;
    loop {
        let mut count = 0;
        for (i, (state, dt)) in (0..BLOCK).zip(flights.by_ref()) {
            block.starts[i] = state;
            block.dt[i] = dt;
            count = i + 1;
        }
        block.fly(count);
        for i in 0..count {
            answer(first + i, if block.done[i] { Ok(block.ends[i]) } else { block.alone(i) });
        }
        first += count;
        if count < BLOCK {
            return;
        }
    }
}

struct Block {
    gm: f64,
    starts: [State; BLOCK],
    dt: Lane,
    alpha: Lane,
    radius: Lane,
    sigma: Lane,
    time: Lane,
    sign: Lane,
    s: Lane,
    ends: [State; BLOCK],
    done: [bool; BLOCK],
}

impl Block {
    fn new(gm: f64) -> Block {
        let lane = [1.0; BLOCK];
        let states = [State::new(crate::vector::Vec3::x(), crate::vector::Vec3::y()); BLOCK];
        Block {
            gm,
            starts: states,
            dt: lane,
            alpha: lane,
            radius: lane,
            sigma: lane,
            time: lane,
            sign: lane,
            s: lane,
            ends: states,
            done: [false; BLOCK],
        }
    }

    #[inline(always)]
    fn path(&self, i: usize) -> Path {
        Path { gm: self.gm, alpha: self.alpha[i], radius: self.radius[i], sigma: self.sigma[i] }
    }

    /// Flies those that fly the ordinary way, and marks them.
    fn fly(&mut self, count: usize) {
        let count = count.min(BLOCK);
        for i in 0..count {
            let (state, dt) = (&self.starts[i], self.dt[i]);
            let sign = 1.0_f64.copysign(dt);
            let path = Path {
                gm: self.gm,
                alpha: invariants::alpha(self.gm, state),
                radius: state.radius(),
                sigma: sign * state.position.dot(&state.velocity),
            };
            let time = path.within_period(dt.abs());
            let way = 1.0_f64.copysign(time);
            self.alpha[i] = path.alpha;
            self.radius[i] = path.radius;
            self.sigma[i] = path.sigma * way;
            self.time[i] = time.abs();
            self.sign[i] = sign * way;
        }
        for i in 0..count {
            let (path, time) = (self.path(i), self.time[i]);
            let (s, ahead) = path.start_on_ellipse(time);
            self.s[i] = s.min(path.most());
            self.done[i] = ahead & (time > 0.0) & !path.is_short(time) & path.is_elliptic();
        }
        for i in 0..count {
            let (path, s, time) = (self.path(i), self.s[i], self.time[i]);
            let near = path.alpha * s * s <= Universal::NEAR;
            let u = Universal::near(path.alpha, s);
            let (reached, radius, sigma, third) = path.time(&u);
            let (step, last) = path.correction(s, reached - time, radius, sigma, third);
            let (distance, end) = path.end(&self.starts[i], &u.moved(path.alpha, step), time, self.sign[i]);
            self.ends[i] = end;
            self.done[i] &= near & last & (distance > 0.0);
        }
        let gm_fits = self.gm > 0.0 && self.gm.is_finite();
        for i in 0..count {
            self.done[i] &= gm_fits & self.dt[i].is_finite() & self.starts[i].is_finite() & self.ends[i].is_finite();
        }
    }

    #[inline(never)]
    fn alone(&self, i: usize) -> Result<State, ConicError> {
        propagate(self.gm, &self.starts[i], self.dt[i])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vector::Vec3;

    #[test]
    fn company_changes_no_bit() {
        let mut flights: Vec<(State, f64)> = (0..5000_u32)
            .map(|i| {
                // Steps that share no period with one another, so that the combinations differ.
                let part = |step: f64| (f64::from(i) * step).fract();
                let position = Vec3::new(1.0, part(0.324_717_957_244_746) - 0.5, 0.2);
                let velocity = Vec3::new(part(0.618_033_988_749_895) - 0.5, 1.7 * part(0.754_877_666_246_693), 0.1);
                (State::new(position, velocity), 200.0 * (part(0.569_840_290_998_053) - 0.5).powi(3))
            })
            .collect();
        for (i, dt) in [f64::NAN, f64::INFINITY, 0.0, 1e300, 1e-300].into_iter().enumerate() {
            flights[100 * i + 7].1 = dt;
        }
        flights[1000].0.position = Vec3::zeros();
        flights[1001].0.velocity = Vec3::new(f64::NAN, 0.0, 0.0);
        flights[1002].0.velocity = Vec3::new(0.0, 1e200, 0.0);
        for gm in [1.0, 0.3, -1.0] {
            let (mut met, mut good) = (0, 0);
            propagate_batch(gm, flights.iter().copied(), |i, end| {
                let alone = propagate(gm, &flights[i].0, flights[i].1);
                good += usize::from(alone.is_ok());
                assert_eq!(format!("{end:?}"), format!("{alone:?}"), "{i} {:?}", flights[i]);
                met += 1;
            });
            assert_eq!(met, flights.len());
            assert!(gm < 0.0 || good > 4900, "{good}");
        }
    }
}
