//! A craft upright on the water: how deep it lies, how stiffly it stands, how it bobs and rolls.
//!
//! Draft by the volume displaced, stability by the metacentre: GM = KB + BM − KG, BM the second moment of the waterplane over the volume, less what
//! the liquids in the tanks take by finding their own level. [RawsonTupper2001], chapters 3 and 4; [White2011], section 2.8.

use std::f64::consts::PI;

use super::SeaFlightError;
use super::craft::{FloatingCraft, UP, level};
use super::solid::Below;

/// The water that carries a craft: density at the surface in kg/m³, gravity in m/s².
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Water {
    /// kg/m³.
    pub density: f64,
    /// m/s².
    pub gravity: f64,
}

impl Water {
    /// The surface of a sea.
    pub fn of(sea: &crate::system::Sea) -> Self {
        Self { density: sea.surface_density(), gravity: sea.gravity(0.0) }
    }

    pub(super) fn check(&self) -> Result<(), SeaFlightError> {
        for (what, value) in [("the density of the water in kg/m³", self.density), ("gravity in m/s²", self.gravity)]
        {
            if !(value > 0.0 && value.is_finite()) {
                return Err(SeaFlightError::Figure { what, value, needs: "positive" });
            }
        }
        Ok(())
    }
}

/// What becomes of a craft that is set on the water upright.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Stance {
    /// It floats upright.
    Upright,
    /// It does not stay upright: the least metacentric height is below zero.
    RollsOver,
    /// It weighs more than its hulls can carry.
    Sinks {
        /// By so much, kg.
        excess: f64,
    },
}

/// Where a named point is.
#[derive(Debug, Clone, PartialEq)]
pub struct PointAbove {
    /// Name.
    pub name: String,
    /// Height above the water, m; below zero under water.
    pub height: f64,
    /// By how much it is within its limits, m; below zero beyond them.
    pub margin: f64,
    /// Whether the limit that is nearest, or passed furthest, is the upper one: too high.
    pub upper: bool,
}

/// A craft upright on the water. For study and rehearsal; flotation of crewed craft follows licensed practice and local codes.
#[derive(Debug, Clone, PartialEq)]
pub struct Floating {
    /// kg.
    pub mass: f64,
    /// Height of the water above the keel, m.
    pub draft: f64,
    /// m³.
    pub displaced: f64,
    /// Height of the centre of buoyancy above the keel, m.
    pub centre_of_buoyancy: f64,
    /// Height of the centre of mass above the keel, m.
    pub centre_of_mass: f64,
    /// m².
    pub waterplane: f64,
    /// Least and greatest of BM, m.
    pub metacentric_radius: (f64, f64),
    /// What free surfaces take from the least and the greatest, m.
    pub free_surface: (f64, f64),
    /// Least metacentric height GM, m, and the direction of heeling that it belongs to, rad from x.
    pub metacentric_height: f64,
    /// rad from x.
    pub weakest: f64,
    /// The greatest metacentric height, m.
    pub greatest_metacentric_height: f64,
    /// By how far the centre of mass stands beside the centre of buoyancy, m: the craft lists where this is not zero.
    pub offset: f64,
    /// Mass that sinks it by a metre more, kg/m.
    pub immersion: f64,
    /// Mass that it could still carry, kg.
    pub reserve_buoyancy: f64,
    /// Share of the hulls' volume that is under water.
    pub submerged: f64,
    /// Period of heaving without the water's inertia, s.
    pub heave_period_dry: f64,
    /// Period of heaving with the inertia of the water below, s.
    pub heave_period: f64,
    /// Radius of gyration about the axis of the weakest heel, m.
    pub gyration: f64,
    /// Period of rolling about it, s; `None` where it does not stay upright.
    pub roll_period: Option<f64>,
    /// Hatches and engines.
    pub points: Vec<PointAbove>,
    /// What becomes of it.
    pub stance: Stance,
}

/// Period of a spring: mass in kg over stiffness in N/m, s.
fn period(mass: f64, stiffness: f64) -> f64 {
    if stiffness > 0.0 { 2.0 * PI * (mass / stiffness).sqrt() } else { 0.0 }
}

/// Period of heaving, s: the weight of the water displaced per metre as the spring, mass and added mass on it.
///
/// - `waterplane`: m²; `mass`, `added_mass`: kg.
///
/// # Source
/// [RawsonTupper2001], chapter 12; undamped.
pub fn heave_period(waterplane: f64, mass: f64, added_mass: f64, water: &Water) -> f64 {
    period(mass + added_mass, water.density * water.gravity * waterplane)
}

/// Period of rolling through small angles, s: 2π k/√(g GM).
///
/// - `gyration`: radius k about the axis, m; `metacentric_height`: m; `gravity`: m/s².
/// - Returns `None` where the metacentric height is not positive.
///
/// # Source
/// [RawsonTupper2001], chapter 12.
pub fn roll_period(gyration: f64, metacentric_height: f64, gravity: f64) -> Option<f64> {
    (metacentric_height > 0.0).then(|| 2.0 * PI * gyration / (gravity * metacentric_height).sqrt())
}

/// What free surfaces take from the metacentric height, m: the sum of the second moments of the surfaces (m⁴) times their liquids' densities (kg/m³), over
/// the mass of the craft (kg).
///
/// # Source
/// [RawsonTupper2001], chapter 4.
pub fn free_surface_loss(second_moment: f64, liquid_density: f64, mass: f64) -> f64 {
    liquid_density * second_moment / mass
}

impl FloatingCraft {
    /// The craft upright on the water.
    ///
    /// # Errors
    /// As [`FloatingCraft::check`]; water without density or gravity; a craft without mass.
    ///
    /// # Source
    /// As the module; the inertia of the water below a waterplane is that of a disk of its area, half of 8/3 ρ a³ [Newman1977], chapter 4.
    pub fn float(&self, water: &Water) -> Result<Floating, SeaFlightError> {
        self.check()?;
        water.check()?;
        let mass = self.mass();
        if !(mass > 0.0) {
            return Err(SeaFlightError::Figure { what: "the mass of the craft in kg", value: mass, needs: "positive" });
        }
        let capacity = water.density * self.hull_volume();
        let (draft, below) = level(&self.hulls, &UP, mass / water.density);
        let (mass_at, buoyancy) = (self.centre_of_mass(&UP), below.centroid());
        let plane = self.waterplane(draft);
        // Second moments of the waterplane and of the free surfaces act in one: their principal directions are found together.
        let volume = below.volume;
        let mut stiff = plane;
        let mut free = [0.0; 2];
        for tank in &self.tanks {
            // A full tank and an empty one have no surface.
            let share = tank.mass / tank.capacity();
            if !(share > 0.0 && share < 1.0 - 1e-9) {
                continue;
            }
            let mut surface = tank.inside.waterplane(tank.level());
            let (x, y) = (surface.first[0] / surface.area, surface.first[1] / surface.area);
            surface.second[0] -= surface.area * x * x;
            surface.second[1] -= surface.area * y * y;
            surface.second[2] -= surface.area * x * y;
            let weight = tank.density / water.density;
            for (sum, own) in stiff.second.iter_mut().zip(surface.second) {
                *sum -= weight * own;
            }
            free[0] += weight * surface.second[0];
            free[1] += weight * surface.second[1];
        }
        let (least_bare, greatest_bare, bare_at) = plane.principal();
        let (least, greatest, at) = stiff.principal();
        let weakest = if greatest - least > 1e-12 * greatest.abs() { at } else { 0.0 };
        let lift = buoyancy[2] - mass_at[2];
        let metacentric_height = least / volume + lift;
        let loss_towards = |angle: f64| (free[0] * angle.cos().powi(2) + free[1] * angle.sin().powi(2)) / volume;
        let area = plane.area;
        let added = 4.0 / 3.0 * water.density * (area / PI).powf(1.5);
        let gyration = self.gyration(weakest);
        let stance = if mass > capacity {
            Stance::Sinks { excess: mass - capacity }
        } else if metacentric_height > 0.0 {
            Stance::Upright
        } else {
            Stance::RollsOver
        };
        Ok(Floating {
            mass,
            draft,
            displaced: volume,
            centre_of_buoyancy: buoyancy[2],
            centre_of_mass: mass_at[2],
            waterplane: area,
            metacentric_radius: (least_bare / volume, greatest_bare / volume),
            free_surface: (loss_towards(bare_at), loss_towards(bare_at + 0.5 * PI)),
            metacentric_height,
            weakest,
            greatest_metacentric_height: greatest / volume + lift,
            offset: (mass_at[0] - buoyancy[0]).hypot(mass_at[1] - buoyancy[1]),
            immersion: water.density * area,
            reserve_buoyancy: capacity - mass,
            submerged: volume / self.hull_volume(),
            heave_period_dry: heave_period(area, mass, 0.0, water),
            heave_period: heave_period(area, mass, added, water),
            gyration,
            roll_period: roll_period(gyration, metacentric_height, water.gravity),
            points: self.points_above(&UP, draft),
            stance,
        })
    }

    /// Heights of the named points above a plane of water.
    pub(super) fn points_above(&self, up: &[f64; 3], plane: f64) -> Vec<PointAbove> {
        let above = |point: &super::craft::Point| {
            let height = super::craft::dot(up, &point.place) - plane;
            let (from_below, from_above) = (height - point.limits.0, point.limits.1 - height);
            let upper = from_above < from_below;
            PointAbove { name: point.name.clone(), height, margin: from_below.min(from_above), upper }
        };
        self.points.iter().map(above).collect()
    }

    /// What lies under water in an attitude, and the plane's distance from the origin along `up`, m.
    pub(super) fn submerged(&self, up: &[f64; 3], water: &Water) -> (f64, Below) {
        level(&self.hulls, up, self.mass() / water.density)
    }
}

impl Floating {
    /// Height of a named point above the water, m.
    pub fn height_of(&self, name: &str) -> Option<f64> {
        self.points.iter().find(|point| point.name == name).map(|point| point.height)
    }
}
