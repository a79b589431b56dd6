//! Lambert's problem: the conic arcs that join two places in a given time.

pub use super::lambert_batch::{Ends, solve_batch, solve_batch_at, solve_pair_batch, solve_pair_batch_at};
use super::lambert_block::ordinary_arc;
use super::triangle::Triangle;
use crate::vector::Vec3;
use std::f64::consts::PI;
use std::num::NonZeroU32;
use thiserror::Error;

/// Which way round the centre an arc goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Way {
    /// Through the angle below 180°.
    Short,
    /// Through the angle above 180°.
    Long,
    /// Counter-clockwise about this normal (any length): the angular momentum has a positive component along it. For exactly
    /// opposite places the normal also gives the plane.
    Prograde(Vec3),
    /// Clockwise about this normal.
    Retrograde(Vec3),
}

/// Which of the two arcs with the same whole revolutions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Branch {
    /// Without a whole revolution there is one arc.
    Single,
    /// The variable x of Lancaster and Blanchard lies below that of the least-time arc.
    Left,
    /// x above that of the least-time arc.
    Right,
}

/// What `solve` looks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Direction, and plane where the places leave it open.
    pub way: Way,
    /// Most whole revolutions wanted; arcs exist only as far as the time reaches.
    pub max_revolutions: u32,
}

/// An arc that solves Lambert's problem.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LambertArc {
    /// Velocity at the first place, m/s, in the axes of the places.
    pub v1: Vec3,
    /// Velocity at the second place, m/s.
    pub v2: Vec3,
    /// Whole revolutions.
    pub revolutions: u32,
    /// Which of the two arcs with these revolutions.
    pub branch: Branch,
    /// Angle swept, revolutions not counted, rad, from 0 to 2π.
    pub transfer_angle: f64,
    /// Orbital energy per mass, m²/s²: below 0 on an ellipse.
    pub energy: f64,
    /// x of Lancaster and Blanchard: below 1 an ellipse, 1 the parabola, above 1 a hyperbola.
    pub x: f64,
    /// Evaluations of the time equation.
    pub iterations: u32,
}

/// Why Lambert's problem has no answer.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum LambertError {
    /// Not above zero, or not a number.
    #[error("the gravitational parameter must be above zero, got {gm_m3_s2:e} m³/s²")]
    GravitationalParameter {
        /// As given, m³/s².
        gm_m3_s2: f64,
    },
    /// Zero, negative, or not a number.
    #[error("the time of flight must be above zero, got {time_s} s")]
    Time {
        /// As given, s.
        time_s: f64,
    },
    /// A place at the centre, or not finite.
    #[error("place {which} lies at the centre or is not finite")]
    Place {
        /// 1 or 2.
        which: u8,
    },
    /// Both places are the same point, so any plane and direction would do.
    #[error("both places are the same point: give a time on an orbit instead")]
    IdenticalPoints,
    /// Places in line with the centre and no normal given.
    #[error("the places are exactly opposite: any plane holds them, give its normal")]
    PlaneOpen,
    /// The normal does not say which way is round.
    #[error("the given normal is zero, not finite, or lies in the plane of the two places: it gives no direction")]
    NormalUseless,
    /// Places on one ray and a direction that leads through the centre.
    #[error("both places lie on one ray from the centre: this way round passes through the centre")]
    ThroughCentre,
    /// Too little time for these revolutions.
    #[error("{revolutions} revolutions take at least {least_s} s between these places, got {time_s} s")]
    TooFewSeconds {
        /// Whole revolutions asked for.
        revolutions: u32,
        /// As given, s.
        time_s: f64,
        /// Least time of flight with these revolutions, s.
        least_s: f64,
    },
    /// Velocities beyond what a number can hold, or digits exhausted.
    #[error("the arc is out of numerical range: {time_s:e} s over a chord of {chord_m:e} m")]
    OutOfRange {
        /// As given, s.
        time_s: f64,
        /// Distance between the places, m.
        chord_m: f64,
    },
}

/// All arcs from `r1` to `r2` in `time`: the one without a whole revolution first, then the two of each number of revolutions.
///
/// - `gm`: m³/s², above 0. `r1`, `r2`: m, from the centre, any axes. `time`: s, above 0.
/// - Returns at least one arc. Its velocities are good to the rounding of the inputs times the problem's own sensitivity,
///   which is unbounded towards 180° (the plane) and towards the least time of a number of revolutions.
///
/// # Errors
/// Bad inputs; places that leave the plane open without a normal; see [`LambertError`].
///
/// # Source
/// [LancasterBlanchard1969]; [Gooding1990]; [Izzo2015]; the stable forms from [Battin1999], chapters 6 and 7.
///
/// # Example
/// [Vallado2013], example 7-5 (from memory).
/// ```
/// use visviva_engine::{arc::lambert::{self, Options, Way}, vector::Vec3};
/// let (r1, r2) = (Vec3::new(15_945.34e3, 0.0, 0.0), Vec3::new(12_214.83899e3, 10_249.46731e3, 0.0));
/// let arcs = lambert::solve(398_600.4418e9, &r1, &r2, 4560.0, &Options { way: Way::Short, max_revolutions: 3 })?;
/// assert_eq!(arcs.len(), 1);
/// assert!((arcs[0].v1 - Vec3::new(2058.9134, 2915.9644, 0.0)).norm() < 1e-3);
/// # Ok::<(), lambert::LambertError>(())
/// ```
pub fn solve(gm: f64, r1: &Vec3, r2: &Vec3, time: f64, options: &Options) -> Result<Vec<LambertArc>, LambertError> {
    let mut arcs = vec![solve_one(gm, r1, r2, time, options.way, 0, Branch::Single)?];
    let triangle = Triangle::new(gm, r1, r2, options.way)?;
    let scaled = triangle.scaled(time)?;
    if triangle.straight() {
        return Ok(arcs);
    }
    for revolutions in 1..=options.max_revolutions {
        // No arc with N revolutions is faster than N periods of the least ellipse, T = Nπ.
        if scaled <= f64::from(revolutions) * PI {
            break;
        }
        let left = match solve_one(gm, r1, r2, time, options.way, revolutions, Branch::Left) {
            Err(LambertError::TooFewSeconds { .. }) => break,
            arc => arc?,
        };
        arcs.push(left);
        arcs.push(solve_one(gm, r1, r2, time, options.way, revolutions, Branch::Right)?);
    }
    Ok(arcs)
}

/// One arc, by its revolutions and branch (the branch is of no account without a revolution).
///
/// Units and sources as in [`solve`].
///
/// # Errors
/// Bad inputs; [`LambertError::TooFewSeconds`] with the least time when no arc has that many revolutions.
pub fn solve_one(
    gm: f64,
    r1: &Vec3,
    r2: &Vec3,
    time: f64,
    way: Way,
    revolutions: u32,
    branch: Branch,
) -> Result<LambertArc, LambertError> {
    let branch = match branch {
        _ if revolutions == 0 => Branch::Single,
        Branch::Single => Branch::Left,
        branch => branch,
    };
    match ordinary_arc(gm, r1, r2, time, way, revolutions, branch) {
        Some(arc) => Ok(arc),
        None => rare_arc(gm, r1, r2, time, way, revolutions, branch),
    }
}

/// The same with steps that are certain, and slower, for what the ordinary ones leave: places in line, arcs near the
/// parabola or near the least time, extreme hyperbolas, errors.
#[cold]
#[inline(never)]
pub(super) fn rare_arc(
    gm: f64,
    r1: &Vec3,
    r2: &Vec3,
    time: f64,
    way: Way,
    revolutions: u32,
    branch: Branch,
) -> Result<LambertArc, LambertError> {
    let triangle = Triangle::new(gm, r1, r2, way)?;
    let scaled = triangle.scaled(time)?;
    let curve = triangle.curve(revolutions);
    if revolutions == 0 {
        return triangle.arc(curve.root_without_revolution(scaled), 0, Branch::Single, time);
    }
    if triangle.straight() {
        return Err(LambertError::ThroughCentre);
    }
    match curve.root_with_revolutions(scaled, branch == Branch::Right) {
        Ok(root) => triangle.arc(root, revolutions, branch, time),
        Err(least) => {
            Err(LambertError::TooFewSeconds { revolutions, time_s: time, least_s: least * triangle.unit_of_time })
        }
    }
}

/// Both arcs with one number of whole revolutions (above zero), left and right: [`solve_one`] twice.
///
/// Units and sources as in [`solve`].
///
/// # Errors
/// As [`solve_one`].
pub fn solve_pair(
    gm: f64,
    r1: &Vec3,
    r2: &Vec3,
    time: f64,
    way: Way,
    revolutions: NonZeroU32,
) -> Result<[LambertArc; 2], LambertError> {
    let one = |branch| solve_one(gm, r1, r2, time, way, revolutions.get(), branch);
    Ok([one(Branch::Left)?, one(Branch::Right)?])
}

/// Least time of flight with a number of whole revolutions, s; 0 without one.
///
/// # Errors
/// Bad inputs, as in [`solve`].
pub fn least_time(gm: f64, r1: &Vec3, r2: &Vec3, way: Way, revolutions: u32) -> Result<f64, LambertError> {
    let triangle = Triangle::new(gm, r1, r2, way)?;
    if revolutions == 0 {
        return Ok(0.0);
    }
    if triangle.straight() {
        return Err(LambertError::ThroughCentre);
    }
    Ok(triangle.curve(revolutions).least_time().1 * triangle.unit_of_time)
}

#[cfg(test)]
mod tests {
    use super::*;

    const X: Vec3 = Vec3::new(1.0, 0.0, 0.0);
    const Z: Vec3 = Vec3::new(0.0, 0.0, 1.0);

    #[test]
    fn opposite_places_take_the_plane_of_the_normal() {
        let far = Vec3::new(-1.5, 0.0, 0.0);
        assert_eq!(solve_one(1.0, &X, &far, 4.4, Way::Short, 0, Branch::Single), Err(LambertError::PlaneOpen));
        let there = solve_one(1.0, &X, &far, 4.4, Way::Prograde(Z), 0, Branch::Single).unwrap();
        let back = solve_one(1.0, &X, &far, 4.4, Way::Retrograde(Z), 0, Branch::Single).unwrap();
        assert!(there.v1.y > 0.0 && (there.v1.y + back.v1.y).abs() < 1e-15 && there.v1.z == 0.0);
        assert_eq!(
            solve_one(1.0, &X, &far, 4.4, Way::Prograde(X), 0, Branch::Single),
            Err(LambertError::NormalUseless)
        );
    }

    #[test]
    fn one_ray_is_flown_straight() {
        // Thrown up at escape speed: r = (r0^1.5 + 1.5 √(2gm) t)^(2/3).
        let time = (8.0 - 1.0) / (1.5 * 2_f64.sqrt());
        let arc = solve_one(1.0, &X, &(X * 4.0), time, Way::Short, 0, Branch::Single).unwrap();
        assert!((arc.v1 - X * 2_f64.sqrt()).norm() < 1e-14 && (arc.v2 - X * 0.5_f64.sqrt()).norm() < 1e-14);
        assert_eq!(
            solve_one(1.0, &X, &(X * 4.0), time, Way::Long, 0, Branch::Single),
            Err(LambertError::ThroughCentre)
        );
        assert_eq!(solve_one(1.0, &X, &X, time, Way::Long, 0, Branch::Single), Err(LambertError::IdenticalPoints));
    }

    #[test]
    fn bad_input_is_named() {
        let y = Vec3::new(0.0, 1.0, 0.0);
        for time in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(matches!(
                solve_one(1.0, &X, &y, time, Way::Short, 0, Branch::Single),
                Err(LambertError::Time { .. })
            ));
        }
        for gm in [0.0, -1.0, f64::NAN] {
            assert!(matches!(
                solve_one(gm, &X, &y, 1.0, Way::Short, 0, Branch::Single),
                Err(LambertError::GravitationalParameter { .. })
            ));
        }
        assert_eq!(
            solve_one(1.0, &Vec3::zeros(), &y, 1.0, Way::Short, 0, Branch::Single),
            Err(LambertError::Place { which: 1 })
        );
        let short = solve_one(1.0, &X, &y, 1.0, Way::Short, 3, Branch::Left);
        assert!(matches!(short, Err(LambertError::TooFewSeconds { least_s, .. }) if least_s > 1.0), "{short:?}");
    }

    #[test]
    fn all_arcs_are_listed_once() {
        let y = Vec3::new(0.0, 1.3, 0.2);
        let arcs = solve(1.0, &X, &y, 40.0, &Options { way: Way::Short, max_revolutions: 50 }).unwrap();
        let most = arcs.last().unwrap().revolutions;
        assert_eq!(arcs.len(), 1 + 2 * most as usize);
        assert!(least_time(1.0, &X, &y, Way::Short, most).unwrap() <= 40.0);
        assert!(least_time(1.0, &X, &y, Way::Short, most + 1).unwrap() > 40.0);
    }
}
