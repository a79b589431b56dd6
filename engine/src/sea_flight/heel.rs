//! A craft that leans: righting arms, the attitudes in which it comes to rest, where it ends when it rolls over.
//!
//! An attitude is the direction of "up" as the craft sees it. Its potential energy over its weight is the height of the centre of mass above the centre of
//! buoyancy, n · (G − B), at the displacement that carries it; as centroids of fixed volumes are at rest to first order when the plane turns, the gradient over
//! attitudes is G − B itself. The craft rests where that points along n, and stays where the energy is least. Liquids in tanks lie level in every attitude.
//! [RawsonTupper2001], chapter 4.

use std::f64::consts::PI;

use super::SeaFlightError;
use super::craft::{FloatingCraft, UP, dot};
use super::floating::{PointAbove, Water};

/// Righting arm at one heel.
#[derive(Debug, Clone, PartialEq)]
pub struct Heel {
    /// rad.
    pub angle: f64,
    /// Righting arm GZ, m: positive where it rights.
    pub arm: f64,
    /// Work to heel it so far, J.
    pub work: f64,
    /// Hatches and engines.
    pub points: Vec<PointAbove>,
}

/// Righting arms to one side.
#[derive(Debug, Clone, PartialEq)]
pub struct RightingCurve {
    /// Direction of the heel, rad from x.
    pub towards: f64,
    /// By angle, from upright.
    pub heels: Vec<Heel>,
    /// Greatest arm, m, and its angle, rad.
    pub greatest: (f64, f64),
    /// Heel at which the arm vanishes and falls, rad; `None` where it rights itself from everywhere along the curve.
    pub vanishing: Option<f64>,
}

/// An attitude in which a craft rests.
#[derive(Debug, Clone, PartialEq)]
pub struct Attitude {
    /// Up, as the craft sees it: a unit vector along its x, y, z.
    pub up: [f64; 3],
    /// Angle from upright, rad.
    pub heel: f64,
    /// Height of the centre of mass above the centre of buoyancy, m: the least one is the safest attitude.
    pub energy: f64,
    /// Least stiffness: righting arm per radian of a small heel from there, m.
    pub stiffness: f64,
    /// Hatches and engines.
    pub points: Vec<PointAbove>,
}

fn unit(v: [f64; 3]) -> [f64; 3] {
    let size = dot(&v, &v).sqrt();
    v.map(|x| x / size)
}

/// Up as the craft sees it when it is heeled by an angle (rad) and its side towards a direction (rad from x) dips.
fn leaning(angle: f64, towards: f64) -> [f64; 3] {
    [-angle.sin() * towards.cos(), -angle.sin() * towards.sin(), angle.cos()]
}

/// Righting arm of a wall-sided craft, m: sin φ (GM + ½ BM tan² φ), exact while neither deck nor bilge meets the water.
///
/// # Source
/// [RawsonTupper2001], chapter 4 (Scribanti's formula).
pub fn wall_sided_arm(metacentric_height: f64, metacentric_radius: f64, heel: f64) -> f64 {
    heel.sin() * (metacentric_height + 0.5 * metacentric_radius * heel.tan().powi(2))
}

impl FloatingCraft {
    /// Centre of mass less centre of buoyancy in an attitude, m.
    fn lever(&self, up: &[f64; 3], water: &Water) -> [f64; 3] {
        let buoyancy = self.submerged(up, water).1.centroid();
        let mass = self.centre_of_mass(up);
        std::array::from_fn(|i| mass[i] - buoyancy[i])
    }

    /// Righting arm, m, when it is heeled by an angle (rad) towards a direction (rad from x); positive where it rights.
    ///
    /// # Errors
    /// As [`FloatingCraft::float`].
    pub fn righting_arm(&self, angle: f64, towards: f64, water: &Water) -> Result<f64, SeaFlightError> {
        self.check()?;
        water.check()?;
        Ok(self.arm(angle, towards, water))
    }

    fn arm(&self, angle: f64, towards: f64, water: &Water) -> f64 {
        // d(up)/d(angle), of which the energy's slope is the arm.
        let turn = [-angle.cos() * towards.cos(), -angle.cos() * towards.sin(), -angle.sin()];
        dot(&self.lever(&leaning(angle, towards), water), &turn)
    }

    /// Righting arms from upright to an angle (rad, to π) towards a direction (rad from x).
    ///
    /// # Errors
    /// As [`FloatingCraft::float`]; no steps.
    pub fn righting_curve(
        &self,
        towards: f64,
        to: f64,
        steps: usize,
        water: &Water,
    ) -> Result<RightingCurve, SeaFlightError> {
        self.check()?;
        water.check()?;
        if !(to > 0.0 && to <= PI) {
            return Err(SeaFlightError::Figure {
                what: "the greatest heel in rad",
                value: to,
                needs: "from 0 to a half turn",
            });
        }
        let steps = steps.clamp(1, 10_000);
        let weight = self.mass() * water.gravity;
        let upright = dot(&self.lever(&UP, water), &UP);
        let heels: Vec<Heel> = (0..=steps)
            .map(|i| {
                let angle = to * i as f64 / steps as f64;
                let up = leaning(angle, towards);
                let plane = self.submerged(&up, water).0;
                let work = weight * (dot(&self.lever(&up, water), &up) - upright);
                Heel { angle, arm: self.arm(angle, towards, water), work, points: self.points_above(&up, plane) }
            })
            .collect();
        let best = heels.iter().fold(&heels[0], |best, heel| if heel.arm > best.arm { heel } else { best });
        let falls = heels.windows(2).find(|pair| pair[0].arm > 0.0 && pair[1].arm <= 0.0);
        let vanishing = falls.and_then(|pair| {
            let arm = |angle: f64| self.arm(angle, towards, water);
            crate::numerics::root::bracketed(arm, pair[0].angle, pair[1].angle, 1e-9).ok()
        });
        let greatest = (best.arm, best.angle);
        Ok(RightingCurve { towards, heels, greatest, vanishing })
    }

    /// Where the craft comes to rest when it is let go near an attitude (`up` as the craft sees it, a unit vector).
    ///
    /// Newton's steps on G − B across `up` while they lessen the energy, steps down the gradient where they do not.
    ///
    /// # Errors
    /// As [`FloatingCraft::float`].
    pub fn settle(&self, up: [f64; 3], water: &Water) -> Result<Attitude, SeaFlightError> {
        self.check()?;
        water.check()?;
        let up = self.descend(unit(up), water);
        Ok(self.attitude(up, water))
    }

    fn energy(&self, up: &[f64; 3], water: &Water) -> f64 {
        dot(&self.lever(up, water), up)
    }

    /// Two unit vectors square to an attitude and to each other.
    fn sides(up: &[f64; 3]) -> [[f64; 3]; 2] {
        let off = if up[0].abs() < 0.6 { [1.0, 0.0, 0.0] } else { [0.0, 1.0, 0.0] };
        let along = dot(&off, up);
        let first = unit(std::array::from_fn(|i| off[i] - along * up[i]));
        let second = [
            up[1] * first[2] - up[2] * first[1],
            up[2] * first[0] - up[0] * first[2],
            up[0] * first[1] - up[1] * first[0],
        ];
        [first, second]
    }

    /// The slope and the second derivatives of the energy over small turns towards the two sides.
    fn slopes(&self, up: &[f64; 3], sides: &[[f64; 3]; 2], water: &Water) -> ([f64; 2], [f64; 3]) {
        /// rad; differences of the exact slope, off by its square.
        const STEP: f64 = 1e-4;
        let slope = |a: f64, b: f64| {
            let there = unit(std::array::from_fn(|i| up[i] + a * sides[0][i] + b * sides[1][i]));
            let lever = self.lever(&there, water);
            // The sides as they turn with the attitude, to first order.
            let across = |side: &[f64; 3]| {
                let along = dot(side, &there);
                dot(&lever, side) - along * dot(&lever, &there)
            };
            [across(&sides[0]), across(&sides[1])]
        };
        let (right, left) = (slope(STEP, 0.0), slope(-STEP, 0.0));
        let (fore, aft) = (slope(0.0, STEP), slope(0.0, -STEP));
        let per = 0.5 / STEP;
        let (xx, yy) = ((right[0] - left[0]) * per, (fore[1] - aft[1]) * per);
        let xy = 0.5 * ((right[1] - left[1]) + (fore[0] - aft[0])) * per;
        (slope(0.0, 0.0), [xx, yy, xy])
    }

    fn descend(&self, mut up: [f64; 3], water: &Water) -> [f64; 3] {
        /// The most that one step turns, rad.
        const MOST: f64 = 0.3;
        let mut energy = self.energy(&up, water);
        for _ in 0..80 {
            let sides = Self::sides(&up);
            let (slope, [xx, yy, xy]) = self.slopes(&up, &sides, water);
            let size = slope[0].hypot(slope[1]);
            // Least curvature, and a shift that makes the step one downhill.
            let least = 0.5 * (xx + yy) - (0.5 * (xx - yy)).hypot(xy);
            let scale = xx.abs() + yy.abs() + xy.abs() + 1e-9;
            if size <= 1e-11 * scale && least >= -1e-6 * scale {
                break;
            }
            let shift = if least > 1e-6 * scale { 0.0 } else { 1e-3 * scale - least };
            let (a, b) = (xx + shift, yy + shift);
            let determinant = a * b - xy * xy;
            let mut step =
                [-(b * slope[0] - xy * slope[1]) / determinant, -(a * slope[1] - xy * slope[0]) / determinant];
            if size <= 1e-11 * scale {
                // A rest that is not stable: leave it along its weakest direction.
                let angle = 0.5 * (2.0 * xy).atan2(xx - yy) + 0.5 * PI;
                step = [1e-3 * angle.cos(), 1e-3 * angle.sin()];
            }
            let turn = step[0].hypot(step[1]);
            if turn > MOST {
                step = step.map(|x| x * MOST / turn);
            }
            let mut taken = false;
            for _ in 0..40 {
                let next = unit(std::array::from_fn(|i| up[i] + step[0] * sides[0][i] + step[1] * sides[1][i]));
                let there = self.energy(&next, water);
                // Near the rest the energy's own rounding hides what is gained: a small step is taken on trust.
                if there < energy || (step[0].hypot(step[1]) < 1e-6 && there <= energy + 1e-13 * scale) {
                    (up, energy, taken) = (next, there, true);
                    break;
                }
                step = step.map(|x| 0.4 * x);
            }
            if !taken || step[0].hypot(step[1]) < 1e-12 {
                break;
            }
        }
        up
    }

    fn attitude(&self, up: [f64; 3], water: &Water) -> Attitude {
        let (_, [xx, yy, xy]) = self.slopes(&up, &Self::sides(&up), water);
        let plane = self.submerged(&up, water).0;
        Attitude {
            up,
            heel: up[0].hypot(up[1]).atan2(up[2]),
            energy: self.energy(&up, water),
            stiffness: 0.5 * (xx + yy) - (0.5 * (xx - yy)).hypot(xy),
            points: self.points_above(&up, plane),
        }
    }

    /// The attitudes in which the craft may come to rest, the safest first: found by letting it go from 26 directions all round.
    ///
    /// Of attitudes that a turn about the vertical of a round craft joins, one stands for all.
    ///
    /// # Errors
    /// As [`FloatingCraft::float`].
    pub fn attitudes(&self, water: &Water) -> Result<Vec<Attitude>, SeaFlightError> {
        self.check()?;
        water.check()?;
        let mut found: Vec<Attitude> = Vec::new();
        for i in 0..27 {
            let start = [f64::from(i % 3 - 1), f64::from(i / 3 % 3 - 1), f64::from(i / 9 - 1)];
            if start == [0.0; 3] {
                continue;
            }
            // A little off the axes, so that no start is a rest that is not stable.
            let start = unit([start[0] + 0.011, start[1] + 0.017, start[2] + 0.005]);
            let rest = self.attitude(self.descend(start, water), water);
            // Energies that agree to 1e-7 m and heels that agree to 1e-4 rad are one attitude.
            let same =
                |other: &Attitude| (other.energy - rest.energy).abs() < 1e-7 && (other.heel - rest.heel).abs() < 1e-4;
            if !found.iter().any(same) {
                found.push(rest);
            }
        }
        found.sort_by(|a, b| a.energy.total_cmp(&b.energy));
        Ok(found)
    }
}
