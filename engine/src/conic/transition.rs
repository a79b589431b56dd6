//! The state-transition matrix: what a small change of a state becomes some time later, in closed form.

use nalgebra::Matrix6;

use crate::conic::{ConicError, State, invariants, propagate};
use crate::vector::{Mat3, Vec3};

/// A state flown through a time, and the derivatives of where it ends by where it began.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Transition {
    /// State at the end, m and m/s.
    pub end: State,
    /// Place at the end by place at the start.
    pub place_by_place: Mat3,
    /// Place at the end by velocity at the start, s.
    pub place_by_velocity: Mat3,
    /// Velocity at the end by place at the start, 1/s.
    pub velocity_by_place: Mat3,
    /// Velocity at the end by velocity at the start.
    pub velocity_by_velocity: Mat3,
}

impl Transition {
    /// All of it: rows and columns place (m), then velocity (m/s), in the axes of the state.
    pub fn matrix(&self) -> Matrix6<f64> {
        let mut all = Matrix6::zeros();
        all.fixed_view_mut::<3, 3>(0, 0).copy_from(&self.place_by_place);
        all.fixed_view_mut::<3, 3>(0, 3).copy_from(&self.place_by_velocity);
        all.fixed_view_mut::<3, 3>(3, 0).copy_from(&self.velocity_by_place);
        all.fixed_view_mut::<3, 3>(3, 3).copy_from(&self.velocity_by_velocity);
        all
    }
}

/// The flight of `state` through `dt` s (either sign) about a centre of `gm` (m³/s²), with its derivatives.
///
/// One set of formulas for all conics and any number of revolutions, in the universal functions U0 to U5. The entries are
/// good to some ten roundings times what the end moves for one rounding of the start.
///
/// # Errors
/// As [`propagate`]; entries that are not finite.
///
/// # Source
/// [Battin1999], section 9.7, in the form of [Goodyear1965]; s from the generalised anomaly's relation
/// gm s = α t + σ − σ0, [Battin1999], section 4.5.
pub fn transition(gm: f64, state: &State, dt: f64) -> Result<Transition, ConicError> {
    let end = propagate(gm, state, dt)?;
    let alpha = invariants::alpha(gm, state);
    let (r0, r) = (state.radius(), end.radius());
    let (sigma0, sigma) = (state.position.dot(&state.velocity), end.position.dot(&end.velocity));
    let first = (alpha * dt + sigma - sigma0) / gm;
    // The relation loses digits far out on a hyperbola; one step of Newton on Kepler's equation brings them back.
    let u = Functions::at(alpha, first);
    let off = dt - (r0 * u.u1 + sigma0 * u.u2 + gm * u.u3);
    let s = if off.is_finite() { first + off / r } else { first };
    let u = Functions::at(alpha, s);
    let g = r0 * u.u1 + sigma0 * u.u2;
    let f = 1.0 - gm * u.u2 / r0;
    let f_rate = -gm * u.u1 / (r * r0);
    let g_rate = 1.0 - gm * u.u2 / r;
    // What the period's change with the energy adds up to: it grows with the time.
    let c = gm * gm * (3.0 * u.u5 - s * u.u4) - gm * dt * u.u2;
    let (p0, v0, p, v) = (state.position, state.velocity, end.position, end.velocity);
    let (dp, dv) = (p - p0, v - v0);
    let one = Mat3::identity();
    let outer = |a: &Vec3, b: &Vec3| a * b.transpose();
    let lost = gm * u.u2;
    let found = Transition {
        end,
        place_by_place: outer(&dv, &dv) * (r / gm)
            + (outer(&p, &p0) * lost + outer(&v, &p0) * c) / r0.powi(3)
            + one * f,
        place_by_velocity: (outer(&dp, &v0) - outer(&dv, &p0)) * (lost / gm) + outer(&v, &v0) * (c / gm) + one * g,
        velocity_by_place: -outer(&dv, &p0) / (r0 * r0) - outer(&p, &dv) / (r * r)
            + (one - outer(&p, &p) / (r * r) + (outer(&p, &v) - outer(&v, &p)) * outer(&p, &dv) / (gm * r)) * f_rate
            - outer(&p, &p0) * (gm * c / (r * r0).powi(3)),
        velocity_by_velocity: outer(&dv, &dv) * (r0 / gm)
            + (outer(&p, &p0) * lost - outer(&p, &v0) * c) / r.powi(3)
            + one * g_rate,
    };
    if found.matrix().iter().all(|entry| entry.is_finite()) {
        Ok(found)
    } else {
        Err(ConicError::NotFinite { what: "the transition matrix" })
    }
}

/// The universal functions U1 to U5.
#[derive(Debug, Clone, Copy)]
struct Functions {
    u0: f64,
    u1: f64,
    u2: f64,
    u3: f64,
    u4: f64,
    u5: f64,
}

impl Functions {
    /// Series for a halved argument, doubled back: U4(2s) = 4 U4 + 2 U2², U5(2s) = 2 U5 + 2 U2 U3 + 2 s U4, from
    /// integrating the doubled U3 twice.
    fn at(alpha: f64, s: f64) -> Self {
        let (mut s, mut psi) = (s, alpha * s * s);
        let mut doublings = 0;
        while psi.abs() > 1.0 && doublings < 600 {
            (s, psi) = (0.5 * s, 0.25 * psi);
            doublings += 1;
        }
        // Σ (−ψ)^k n!/(n + 2k)!: twelve terms leave less than 1/29! at |ψ| = 1.
        let series = |n: f64| {
            (1..12).rev().fold(1.0, |sum, k| {
                let top = n + 2.0 * f64::from(k);
                1.0 - psi * sum / (top * (top - 1.0))
            })
        };
        let square = s * s;
        let (u2, u3) = (0.5 * square * series(2.0), square * s / 6.0 * series(3.0));
        let (u4, u5) = (square * square / 24.0 * series(4.0), square * square * s / 120.0 * series(5.0));
        let mut u = Self { u0: 1.0 - alpha * u2, u1: s - alpha * u3, u2, u3, u4, u5 };
        for _ in 0..doublings {
            let u2 = 2.0 * u.u1 * u.u1;
            u = Self {
                u0: 1.0 - alpha * u2,
                u1: 2.0 * u.u0 * u.u1,
                u2,
                u3: 2.0 * (u.u3 + u.u1 * u.u2),
                u4: 4.0 * u.u4 + 2.0 * u.u2 * u.u2,
                u5: 2.0 * (u.u5 + u.u2 * u.u3 + s * u.u4),
            };
            s *= 2.0;
        }
        u
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GM: f64 = 3.986e14;

    fn scaled(state: &State, dt: f64) -> (Matrix6<f64>, Matrix6<f64>) {
        // In units in which every entry is of the order of one: lengths of the start, times of its circular motion.
        let length = state.radius();
        let speed = (GM / length).sqrt();
        let at = |column: usize, step: f64| {
            let mut moved = *state;
            if column < 3 {
                moved.position[column] += step * length;
            } else {
                moved.velocity[column - 3] += step * speed;
            }
            propagate(GM, &moved, dt).unwrap()
        };
        let mut differences = Matrix6::zeros();
        let h = 1e-4;
        for column in 0..6 {
            // Central differences of the sixth order: what is left is (1e-4)^6 and rounding over 1e-4.
            let weights = [(1.0, 0.75), (2.0, -0.15), (3.0, 1.0 / 60.0)];
            for (k, weight) in weights {
                let (up, down) = (at(column, k * h), at(column, -k * h));
                for row in 0..3 {
                    differences[(row, column)] += weight * (up.position[row] - down.position[row]) / (h * length);
                    differences[(row + 3, column)] += weight * (up.velocity[row] - down.velocity[row]) / (h * speed);
                }
            }
        }
        let mut matrix = transition(GM, state, dt).unwrap().matrix();
        for row in 0..6 {
            for column in 0..6 {
                let down = if row < 3 { length } else { speed };
                let up = if column < 3 { length } else { speed };
                matrix[(row, column)] *= up / down;
            }
        }
        (matrix, differences)
    }

    #[test]
    fn derivatives_are_those_of_the_flight() {
        let position = Vec3::new(7e6, 1e6, -2e6);
        let circular = (GM / position.norm()).sqrt();
        for speed in [0.7, 1.0, 1.3, 2.0_f64.sqrt(), 1.8] {
            for slope in [-0.5, 0.1] {
                let direction = Vec3::new(slope, 0.8, 0.5).normalize();
                let state = State::new(position, direction * (speed * circular));
                for dt in [-9000.0, -30.0, 10.0, 2500.0, 40_000.0] {
                    let (matrix, differences) = scaled(&state, dt);
                    let off = (matrix - differences).abs().max();
                    let size = matrix.abs().max();
                    assert!(off < 1e-8 * size, "speed {speed} slope {slope} dt {dt}: {off} of {size}");
                }
            }
        }
    }

    /// A flow of Newton's equations keeps areas in phase space: Φᵀ J Φ = J. [Battin1999], section 9.5.
    #[test]
    fn it_is_symplectic() {
        let mut j = Matrix6::zeros();
        for k in 0..3 {
            j[(k, k + 3)] = 1.0;
            j[(k + 3, k)] = -1.0;
        }
        let state = State::new(Vec3::new(1.0, 0.2, -0.1), Vec3::new(0.1, 1.1, 0.3));
        for dt in [0.3, 7.0, -20.0] {
            let matrix = transition(1.0, &state, dt).unwrap().matrix();
            let off = (matrix.transpose() * j * matrix - j).abs().max();
            assert!(off < 1e-14 * matrix.norm_squared(), "{dt}: {off}");
        }
    }

    #[test]
    fn back_again_is_the_inverse() {
        let state = State::new(Vec3::new(7e6, 1e6, -2e6), Vec3::new(-3e3, 8e3, 6e3));
        let there = transition(GM, &state, 30_000.0).unwrap();
        let back = transition(GM, &there.end, -30_000.0).unwrap();
        let product = back.place_by_place * there.place_by_place + back.place_by_velocity * there.velocity_by_place;
        let size = back.place_by_place.norm() * there.place_by_place.norm();
        assert!((product - Mat3::identity()).norm() < 1e-13 * size.max(1.0), "{product}");
    }
}
