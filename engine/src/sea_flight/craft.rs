//! A craft as water sees it: what displaces, what weighs, what sloshes, and the points that must stay above or below.

use super::SeaFlightError;
use super::solid::{Below, Solid, Waterplane};

/// A named mass at a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Weight {
    /// Name.
    pub name: String,
    /// kg.
    pub mass: f64,
    /// Forward, left, above the keel, m.
    pub place: [f64; 3],
    /// Radii of gyration about axes through its own centre along x, y, z, m.
    pub gyration: [f64; 3],
}

impl Weight {
    /// A mass on the centre line, as a point.
    pub fn at(name: &str, mass: f64, height: f64) -> Self {
        Self { name: name.to_string(), mass, place: [0.0, 0.0, height], gyration: [0.0; 3] }
    }
}

/// A tank with liquid in it, which finds its own level.
#[derive(Debug, Clone, PartialEq)]
pub struct Tank {
    /// Name.
    pub name: String,
    /// Its inside.
    pub inside: Solid,
    /// Of the liquid, kg/m³.
    pub density: f64,
    /// Of the liquid in it, kg.
    pub mass: f64,
}

impl Tank {
    /// What it holds when full, kg.
    pub fn capacity(&self) -> f64 {
        self.density * self.inside.volume()
    }

    /// The liquid when the plane of its surface is square to a unit vector, in kg and kg m.
    pub(super) fn liquid(&self, up: &[f64; 3]) -> (f64, [f64; 3]) {
        let below = level(std::slice::from_ref(&self.inside), up, self.mass / self.density).1;
        let moment = below.moment.map(|moment| moment * self.density);
        // The level is found to a rounding; the mass is the one given.
        let scale = if below.volume > 0.0 { self.mass / (below.volume * self.density) } else { 0.0 };
        (self.mass, moment.map(|moment| moment * scale))
    }

    /// Level of the liquid above the keel with the craft upright, m.
    pub fn level(&self) -> f64 {
        level(std::slice::from_ref(&self.inside), &UP, self.mass / self.density).0
    }
}

/// A named point: a hatch, the lip of an engine.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Name.
    pub name: String,
    /// Forward, left, above the keel, m.
    pub place: [f64; 3],
    /// Least and greatest height above the water at which it is of use, m; infinite where there is none.
    pub limits: (f64, f64),
}

/// A craft that may float.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FloatingCraft {
    /// What displaces water. Solids may touch; where two overlap their common part counts twice.
    pub hulls: Vec<Solid>,
    /// What weighs.
    pub weights: Vec<Weight>,
    /// Tanks with their liquid.
    pub tanks: Vec<Tank>,
    /// Hatches, engines.
    pub points: Vec<Point>,
}

/// Up, where the craft is upright.
pub(super) const UP: [f64; 3] = [0.0, 0.0, 1.0];

pub(super) fn dot(a: &[f64; 3], b: &[f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// The plane below which solids have a volume: its distance along its normal, m, and what lies below it. All or nothing for a volume out of reach.
pub(super) fn level(solids: &[Solid], up: &[f64; 3], volume: f64) -> (f64, Below) {
    let below = |height: f64| {
        let mut sum = Below::default();
        for solid in solids {
            sum.add(&solid.below(up, height));
        }
        sum
    };
    let ends = solids.iter().map(|solid| solid.reach(up));
    let (low, high) = ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (a, b)| (low.min(a), high.max(b)));
    let whole: f64 = solids.iter().map(Solid::volume).sum();
    if !(low.is_finite() && high.is_finite()) || volume <= 0.0 {
        return (if low.is_finite() { low } else { 0.0 }, Below::default());
    }
    if volume >= whole {
        return (high, below(high));
    }
    let height = crate::numerics::root::bracketed(|height| below(height).volume - volume, low, high, 0.0);
    // The volume rises from nothing to all between the ends, so there is a root; a rounding at an end is that end.
    let height = height.unwrap_or(if volume < 0.5 * whole { low } else { high });
    (height, below(height))
}

impl FloatingCraft {
    /// Whether every figure of it means something.
    ///
    /// # Errors
    /// No hull; a mass, density or place that is none; an overfull tank. The part is named.
    pub fn check(&self) -> Result<(), SeaFlightError> {
        if self.hulls.is_empty() {
            return Err(SeaFlightError::NoHull);
        }
        let refuse =
            |part: &str, what, value, needs| Err(SeaFlightError::Part { part: part.to_string(), what, value, needs });
        for weight in &self.weights {
            if !(weight.mass >= 0.0 && weight.mass.is_finite()) {
                return refuse(&weight.name, "mass in kg", weight.mass, "zero or more");
            }
            for value in weight.place.iter().chain(&weight.gyration) {
                if !value.is_finite() {
                    return refuse(&weight.name, "a place or radius in m", *value, "a finite number");
                }
            }
        }
        for tank in &self.tanks {
            if !(tank.density > 0.0 && tank.density.is_finite()) {
                return refuse(&tank.name, "density in kg/m³", tank.density, "positive");
            }
            if !(tank.mass >= 0.0 && tank.mass.is_finite()) {
                return refuse(&tank.name, "mass in kg", tank.mass, "zero or more");
            }
            // A tank filled by its own volume may be over by a rounding.
            if tank.mass > tank.capacity() * (1.0 + 1e-12) {
                let (mass_kg, capacity_kg) = (tank.mass, tank.capacity());
                return Err(SeaFlightError::TankOverfull { tank: tank.name.clone(), mass_kg, capacity_kg });
            }
        }
        for point in &self.points {
            for value in point.place {
                if !value.is_finite() {
                    return refuse(&point.name, "a place in m", value, "a finite number");
                }
            }
        }
        Ok(())
    }

    /// All of its mass, kg.
    pub fn mass(&self) -> f64 {
        let weights: f64 = self.weights.iter().map(|weight| weight.mass).sum();
        weights + self.tanks.iter().map(|tank| tank.mass).sum::<f64>()
    }

    /// All that its hulls can displace, m³.
    pub fn hull_volume(&self) -> f64 {
        self.hulls.iter().map(Solid::volume).sum()
    }

    /// Centre of mass with every liquid level across a direction, m.
    pub fn centre_of_mass(&self, up: &[f64; 3]) -> [f64; 3] {
        let mut sum = [0.0; 3];
        let mut add = |moment: [f64; 3]| {
            for (sum, more) in sum.iter_mut().zip(moment) {
                *sum += more;
            }
        };
        for weight in &self.weights {
            add(weight.place.map(|x| weight.mass * x));
        }
        for tank in &self.tanks {
            add(tank.liquid(up).1);
        }
        let mass = self.mass();
        if mass > 0.0 { sum.map(|moment| moment / mass) } else { sum }
    }

    /// Radius of gyration about the level axis through the centre of mass that heeling towards a direction turns about, m.
    ///
    /// Liquids count as points at their centres: they slip past the walls of their tanks.
    pub fn gyration(&self, towards: f64) -> f64 {
        let centre = self.centre_of_mass(&UP);
        // Heeling towards (cos a, sin a) turns about (−sin a, cos a).
        let axis = [-towards.sin(), towards.cos()];
        let mut sum = 0.0;
        let mut add = |mass: f64, place: &[f64; 3], own: &[f64; 3]| {
            let off: [f64; 3] = std::array::from_fn(|i| place[i] - centre[i]);
            let along = axis[0] * off[0] + axis[1] * off[1];
            let own = (own[0] * axis[0]).powi(2) + (own[1] * axis[1]).powi(2);
            sum += mass * (dot(&off, &off) - along * along + own);
        };
        for weight in &self.weights {
            add(weight.mass, &weight.place, &weight.gyration);
        }
        for tank in &self.tanks {
            let (mass, moment) = tank.liquid(&UP);
            if mass > 0.0 {
                add(mass, &moment.map(|moment| moment / mass), &[0.0; 3]);
            }
        }
        let mass = self.mass();
        if mass > 0.0 { (sum / mass).max(0.0).sqrt() } else { 0.0 }
    }

    /// The cut of the upright craft by the water, m and its powers.
    pub fn waterplane(&self, height: f64) -> Waterplane {
        let mut sum = Waterplane::default();
        for hull in &self.hulls {
            sum.add(&hull.waterplane(height));
        }
        sum
    }

    /// A tank by name.
    ///
    /// # Errors
    /// No tank of that name.
    pub fn tank(&self, name: &str) -> Result<usize, SeaFlightError> {
        let found = self.tanks.iter().position(|tank| tank.name == name);
        found.ok_or_else(|| SeaFlightError::NoSuch { kind: "tank", name: name.to_string() })
    }

    /// A point by name.
    ///
    /// # Errors
    /// No point of that name.
    pub fn point(&self, name: &str) -> Result<&Point, SeaFlightError> {
        let found = self.points.iter().find(|point| point.name == name);
        found.ok_or_else(|| SeaFlightError::NoSuch { kind: "point", name: name.to_string() })
    }
}
